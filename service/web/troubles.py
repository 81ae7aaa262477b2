"""What went wrong, in the words of a page: a heading, and what to do."""

from __future__ import annotations

import logging
from dataclasses import dataclass

from sqlalchemy.exc import SQLAlchemyError
from werkzeug.exceptions import HTTPException

from service.pace import TooSlow
from service.problems import TOO_SLOW, Problem
from service.proofs import NoProof
from service.web.forgery import Forged
from worker.store import StoreDown

__all__ = ["NoInspection", "NoPage", "NoPicture", "NoPrinter", "SignedOut", "Trouble", "trouble_of"]

log = logging.getLogger(__name__)


class NoInspection(Exception):
    """No inspection of this visitor has that id."""


class NoPrinter(Exception):
    """No printer of this visitor has that id, or it is not the visitor's to change."""


class SignedOut(Exception):
    """A form came from a visitor who is not signed in, or no longer."""


class NoPicture(Exception):
    """The picture of a page is not there: it is being drawn, or it ``cannot`` be drawn and this says why."""

    def __init__(self, page: int, *, cannot: str | None = None) -> None:
        super().__init__(page)
        self.page = page
        self.cannot = cannot


class NoPage(Exception):
    """The book has no such page."""


@dataclass(frozen=True)
class Trouble:
    """A page that says what went wrong; ``again`` offers the same address once more."""

    status: int
    heading: str
    detail: str
    again: bool = False


NO_INSPECTION = Trouble(
    404,
    "There is no such inspection",
    "It may have been deleted, its days may be over, or the address is not whole. Your list shows those that you have.",
)
NO_PRINTER = Trouble(
    404,
    "There is no such printer",
    "Its profile may have been deleted or is no longer shared, or the address is not whole. The list of printers shows "
    "those that you have.",
)
FORGED = Trouble(
    403,
    "This form was not sent from here",
    "Nothing was done. The form may have stood open while you signed out or in: "
    "go back, load the page again, and send it once more.",
)
SIGNED_OUT = Trouble(
    401,
    "You are signed out",
    "Nothing was done. Sign in, load the page with the form again, and send it once more.",
)
STORE_AWAY = Trouble(
    503,
    "The service cannot reach what it keeps",
    "Its database or its files do not answer at the moment. Nothing that was kept is lost; try again in a minute.",
    again=True,
)
FAULT = Trouble(
    500,
    "Something here went wrong",
    "The fault is this service’s own, and it has been written down. Try again; if it stays so, tell whoever runs it.",
    again=True,
)
BY_STATUS = {
    400: ("The request cannot be understood", "Go back, load the page again, and send it once more."),
    404: ("There is no such page", "The address may have been mistyped, or the page is gone."),
    405: (
        "This address does not take that",
        "It belongs to a form: go back to the page with the form and send it there.",
    ),
    413: ("That is more than this form takes", "Go back, and send less."),
    429: ("More requests than are answered in a minute", "Wait a minute, then try again."),
}


def trouble_of(error: Exception) -> Trouble:
    """The words for any error that reached the edge of a page; one of our own making is logged."""
    match error:
        case NoInspection():
            trouble = NO_INSPECTION
        case NoPrinter():
            trouble = NO_PRINTER
        case NoPicture():
            trouble = _no_picture(error)
        case NoProof():
            trouble = _no_proof(error)
        case NoPage():
            trouble = Trouble(404, f"There is no page {error}", "The book has fewer pages than that.")
        case Forged():
            trouble = FORGED
        case SignedOut():
            trouble = SIGNED_OUT
        case Problem():
            trouble = Trouble(error.kind.status, error.kind.title, error.detail)
        case TooSlow():
            trouble = Trouble(TOO_SLOW.status, TOO_SLOW.title, str(error))
        case StoreDown() | SQLAlchemyError():
            log.error("the store does not answer: %s", error)
            trouble = STORE_AWAY
        case HTTPException(code=int(status)) if status < 500:
            words = BY_STATUS.get(status, (error.name, error.description or "Go back, and try again."))
            trouble = Trouble(status, *words)
        case _:
            log.error("a page broke off", exc_info=error)
            trouble = FAULT
    return trouble


def _no_picture(error: NoPicture) -> Trouble:
    if error.cannot is None:
        detail = "It is being drawn now. Try again in a moment."
        return Trouble(503, f"Page {error.page} is not drawn yet", detail, again=True)
    return Trouble(
        404,
        f"Page {error.page} cannot be drawn",
        f"Why: {error.cannot}. The report holds without the picture. Look at the page in a PDF reader, export the book "
        "again if it looks wrong there, and send that.",
    )


def _no_proof(error: NoProof) -> Trouble:
    if error.cannot is None:
        now = "It is being made now. Try again in a moment."
        later = "The queue does not answer at the moment. Try again in a minute."
        return Trouble(503, "The proof is not made yet", now if error.queue_answers else later, again=True)
    return Trouble(
        404,
        "There is no proof of this file",
        f"Why: {error.cannot}. The report holds without it. Export the book again, and send that.",
    )
