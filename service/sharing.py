"""Making a share link: for how many days, and what the link is."""

from __future__ import annotations

from flask import url_for

from service.house import settings, store
from worker.store import Inspection, Share

__all__ = ["BadDays", "link_made"]


class BadDays(ValueError):
    """A link cannot be made for so many days; the message says for how many it can."""


def link_made(row: Inspection, days: int | None = None) -> tuple[Share, str]:
    """A new share link of a finished inspection, and its whole address, which is kept nowhere.

    ``days`` None: as many as are set up. Raises :class:`BadDays` and :class:`worker.store.TooManyShares`.
    """
    most = settings().most_share_days
    days = settings().share_days if days is None else days
    if not 1 <= days <= most:
        raise BadDays(f"A link may hold from 1 to {most} days.")
    share, secret = store().shares.make(row, days=days)
    return share, url_for("shared.report_page", secret=secret, _external=True)
