"""The blueprint of an author's pages: what holds for every one of them.

Their address is the secret: no page of theirs tells it to another (``Referrer-Policy``), no cache keeps them, and no
log names it. Browsers that withhold the referrer send ``Origin: null`` with a form, so that header tells nothing here.
"""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, make_response, render_template, request
from flask.typing import ResponseReturnValue
from markupsafe import Markup
from werkzeug.exceptions import HTTPException

from service.access import is_our_origin
from service.repeats import refuse_repeats
from service.web.forgery import FIELD, Forged, form_secret
from service.web.room import HEADERS, arrives_without_its_cookie
from service.web.script import by_script
from service.web.troubles import Trouble, trouble_of

__all__ = ["NoLink", "blueprint"]

OWN_HEADERS = HEADERS | {"Referrer-Policy": "no-referrer", "Cache-Control": "private, no-store"}

NO_LINK = Trouble(
    404,
    "This link leads nowhere",
    "It may not be whole, its days may be over, or it has been withdrawn. "
    "Ask whoever gave it to you for another; what you have sent is not lost.",
)

blueprint = Blueprint("author", __name__, url_prefix="/author", template_folder="../templates")


class NoLink(Exception):
    """No link in force has this secret, or nothing that came by it has this number."""


@blueprint.before_request
def _at_the_door() -> ResponseReturnValue | None:
    refuse_repeats(request.args)
    if request.method == "POST":
        if _sent_from_elsewhere():
            raise Forged
    elif arrives_without_its_cookie():
        return render_template("web/onward.html")
    return None


@blueprint.after_request
def _headers(response: Response) -> Response:
    return _guarded(response)


@blueprint.context_processor
def _for_every_page() -> dict[str, object]:
    return {"secret_field": _secret_field}


@blueprint.errorhandler(Exception)
def _page_of_trouble(error: Exception) -> Response:
    trouble = NO_LINK if isinstance(error, NoLink) else trouble_of(error)
    if by_script():
        response = make_response(jsonify(problem=trouble.detail), trouble.status)
    else:
        page = render_template("web/trouble.html", trouble=trouble, home=request.path)
        response = make_response(page, trouble.status)
    if isinstance(error, HTTPException):
        told = [(name, value) for name, value in error.get_headers() if name.lower() != "content-type"]
        response.headers.extend(told)
    return _guarded(response)


def _guarded(response: Response) -> Response:
    for name, value in OWN_HEADERS.items():
        response.headers.setdefault(name, value)
    return response


def _sent_from_elsewhere() -> bool:
    """Whether the browser says that another site made this request (Fetch Metadata, W3C; RFC 6454)."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site not in {"same-origin", "none"}
    origin = request.headers.get("Origin", "null")
    return origin != "null" and not is_our_origin(origin)


def _secret_field() -> Markup:
    return Markup('<input type="hidden" name="{}" value="{}">').format(FIELD, form_secret())
