"""What a callback says: which way an inspection ended, and the inspection as its owner sees it."""

from __future__ import annotations

import json

from worker.shown import inspection
from worker.store import Inspection

__all__ = ["body_of", "type_of"]


def type_of(row: Inspection) -> str | None:
    """``inspection.done``, ``inspection.failed`` or ``inspection.cancelled``; None until it has ended."""
    return f"inspection.{row.state}" if row.finished else None


def body_of(row: Inspection) -> str:
    """The whole message, JSON on one line, as the Standard Webhooks specification has it."""
    ended_at = row.finished_at or row.created_at
    message = {
        "type": type_of(row),
        "timestamp": ended_at.isoformat().replace("+00:00", "Z"),
        "data": inspection(row, None).model_dump(mode="json"),
    }
    return json.dumps(message, ensure_ascii=False, separators=(",", ":"))
