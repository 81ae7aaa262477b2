"""A pass for press is given to a file whose report can be read, and to no other."""

from __future__ import annotations

from service.problems import ANOTHER_FILE, FAILED, NOT_FINISHED, Problem
from worker.store import Store, Title

__all__ = ["refuse_unless_inspected"]


def refuse_unless_inspected(store: Store, title: Title, sha256: str) -> None:
    """Raise :class:`Problem` unless the title's last file has these bytes, and its inspection came to a verdict."""
    kept = store.titles.submissions(title.id)
    if not kept:
        raise Problem(ANOTHER_FILE, "No file has come for this title. Take one in, look at it, and pass that.")
    last, row = kept[-1]
    if last.sha256 != sha256:
        raise Problem(
            ANOTHER_FILE,
            "Another file has come for this title since. Look at that one, and pass it if it is right.",
        )
    verdict = row.verdict if row is not None else last.verdict
    if verdict is None and row is not None and not row.finished:
        told = "The file is still being inspected. Wait until it has its report, then pass it."
        raise Problem(NOT_FINISHED, told, headers={"Retry-After": "5"})
    if verdict is None:
        raise Problem(FAILED, "The file has no report, so nobody has seen how it prints. Take it in once more.")
