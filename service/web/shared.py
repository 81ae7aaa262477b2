"""What a share link shows: one inspection's report to whoever has the link, and nothing else of the service.

A link that is wrong, withdrawn or over, and one whose inspection is gone, all lead to the very same page. The secret
stands in the address: so no address is passed on (``Referrer-Policy``), kept (``no-store``) or listed (``noindex``).
"""

from __future__ import annotations

from flask import Blueprint, Response, make_response, render_template, request
from flask.typing import ResponseReturnValue

from service.house import store
from service.proofs import proof_sent
from service.web.inspection import pictures_of, report_of
from service.web.reading import picture_sent, report_sent, to_keep
from service.web.room import POLICY
from service.web.troubles import NoInspection, NoPage, Trouble, trouble_of
from service.web.words import card_of
from worker.store import Inspection, Missing, report_key

__all__ = ["blueprint"]

ROOM = "/shared/"

HEADERS = {
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
}
"""For whatever is answered in this room."""

LEADS_NOWHERE = Trouble(
    404,
    "This link leads nowhere",
    "It may have been withdrawn, its day may be over, or it is not whole. Ask whoever sent it to you for another.",
)

blueprint = Blueprint("shared", __name__, url_prefix="/shared")


@blueprint.get("/<secret>")
def report_page(secret: str) -> ResponseReturnValue:
    """The page: the verdict, the report, the flagged pages, and what can be kept."""
    row = _shown(secret)
    report = report_of(row)
    return render_template(
        "web/shared.html",
        secret=secret,
        card=card_of(row),
        has_pages=bool(row.progress_total),
        pictures=pictures_of(row, report),
    )


@blueprint.get("/<secret>/report")
def report(secret: str) -> ResponseReturnValue:
    """The report, one HTML file that stands alone."""
    return report_sent(_shown(secret))


@blueprint.get("/<secret>/report.json")
def report_json(secret: str) -> ResponseReturnValue:
    """The report as data, to keep."""
    row = _shown(secret)
    return to_keep(row, report_key(row.id), "report")


@blueprint.get("/<secret>/proof.pdf")
def proof(secret: str) -> ResponseReturnValue:
    """The book with its marks and notes, to keep."""
    return proof_sent(_shown(secret))


@blueprint.get("/<secret>/pages/<int:page>.png")
def picture(secret: str, page: int) -> ResponseReturnValue:
    """A page of the book, drawn."""
    row = _shown(secret)
    if not 1 <= page <= (row.progress_total or 0):
        raise NoPage(page)
    return picture_sent(row, page)


@blueprint.get("/<secret>/<path:rest>")
def nothing(secret: str, rest: str) -> ResponseReturnValue:
    """Nothing else is here, whatever the link."""
    raise NoInspection


@blueprint.errorhandler(Exception)
def _trouble(error: Exception) -> Response:
    gone = isinstance(error, NoInspection | Missing)
    trouble = LEADS_NOWHERE if gone else trouble_of(error)
    page = render_template("web/trouble.html", trouble=trouble, layout="web/shared_base.html")
    return make_response(page, trouble.status)


@blueprint.after_app_request
def _headers(response: Response) -> Response:
    if request.path.startswith(ROOM):
        response.headers.update(HEADERS)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers.setdefault("Cross-Origin-Opener-Policy", "same-origin")
    return response


def _shown(secret: str) -> Inspection:
    """The inspection that the link leads to. Raises :class:`NoInspection`."""
    row = store().shares.find(secret)
    if row is None or row.state != "done":
        raise NoInspection
    return row
