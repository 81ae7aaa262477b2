"""What can no longer be had of an inspection, its day having come, while its report still can."""

from __future__ import annotations

from service.problems import NO_LONGER_KEPT, Problem
from worker.store import Inspection

__all__ = ["need_file", "need_pictures"]

HELP = "The report holds without it, and judging again works; upload the file again to have it."


def need_pictures(row: Inspection) -> None:
    """Raise :class:`Problem` where the pictures of its pages and its proof are no longer kept."""
    if not row.has_pictures:
        when = row.pictures_deleted_at or row.pictures_until
        detail = f"The pictures and the proof of this inspection were kept until {when:%Y-%m-%d %H:%M} UTC. {HELP}"
        raise Problem(NO_LONGER_KEPT, detail, what="pictures")


def need_file(row: Inspection) -> None:
    """Raise :class:`Problem` where the uploaded file, from which pictures and the proof are made, is no longer kept."""
    if not row.has_file:
        when = min(row.file_deleted_at or row.file_until, row.file_until)
        detail = (
            f"It was never made, and the uploaded file that it is made from was kept until {when:%Y-%m-%d %H:%M} UTC. "
            f"{HELP}"
        )
        raise Problem(NO_LONGER_KEPT, detail, what="file")
