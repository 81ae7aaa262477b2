"""Making an author's link: for how many days, and what the link is."""

from __future__ import annotations

from flask import url_for

from service.desk.taking_in import refusals
from service.house import settings, store
from service.sharing import BadDays
from worker.store import AuthorLink, Title

__all__ = ["author_link_made"]


def author_link_made(title: Title, days: int | None = None) -> tuple[AuthorLink, str]:
    """A new link to a title, and its whole address, which is kept nowhere.

    ``days`` None: as many as are set up, which is the most. Raises :class:`BadDays`, and :class:`Problem` for a title
    that is gone or withdrawn.
    """
    most = settings().author_link_days
    days = most if days is None else days
    if not 1 <= days <= most:
        raise BadDays(f"A link may hold from 1 to {most} days.")
    with refusals():
        link, secret = store().author_links.make(title.id, title.owner, days=days)
    return link, url_for("author.page", secret=secret, _external=True)
