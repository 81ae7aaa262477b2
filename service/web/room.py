"""The blueprint of the web pages: what holds for every one of them, before it is made and after."""

from __future__ import annotations

from typing import cast

from flask import (
    Blueprint,
    Flask,
    Response,
    jsonify,
    make_response,
    redirect,
    render_template,
    request,
    session,
    url_for,
)
from flask.blueprints import BlueprintSetupState
from flask.typing import ResponseReturnValue
from markupsafe import Markup
from werkzeug.exceptions import HTTPException

from service.access import comes_from_elsewhere, need_scope
from service.house import settings
from service.repeats import refuse_repeats
from service.web.forgery import FIELD, Forged, form_secret, guard_form
from service.web.script import by_script
from service.web.sessions import use_sessions
from service.web.troubles import SignedOut, trouble_of
from service.web.visitor import may, visitor
from service.web.words import day, moment

__all__ = ["HEADERS", "MOST_FORM_BYTES", "POLICY", "arrives_without_its_cookie", "blueprint", "page_of_trouble"]

POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; form-action 'self'; "
    "frame-ancestors 'self'; frame-src 'self'; connect-src 'self'; base-uri 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "private, no-cache",
}
MOST_FORM_BYTES = 64 * 1024
STATIC_SECONDS = 3600

OPEN_TO_ALL = {"web.sign_in", "web.try_token"}
CARRIES_A_FILE = {"web.send", "web.send_for_title", "web.send_many"}
"""Guards its form itself, once the file has been taken off the wire."""

blueprint = Blueprint("web", __name__, template_folder="templates", static_folder="static", static_url_path="/static")


@blueprint.record_once
def _set_up(state: BlueprintSetupState) -> None:
    use_sessions(cast(Flask, state.app), settings(state.app).data)
    state.app.jinja_env.filters |= {"moment": moment, "day": day}


@blueprint.before_request
def _at_the_door() -> ResponseReturnValue | None:
    if request.endpoint == "web.static":
        return None
    if request.method == "POST":
        _guard()
    elif arrives_without_its_cookie():
        return render_template("web/onward.html")
    if request.endpoint in OPEN_TO_ALL:
        return None
    found = visitor()
    if found is None:
        return _ask_to_sign_in()
    need_scope(found.scopes)
    return None


@blueprint.after_request
def _headers(response: Response) -> Response:
    if request.endpoint == "web.static" and response.status_code < 400:
        response.headers["Cache-Control"] = f"public, max-age={STATIC_SECONDS}"
    return _guarded(response)


@blueprint.context_processor
def _for_every_page() -> dict[str, object]:
    return {"visitor": visitor(), "may": may, "here": _here, "secret_field": _secret_field}


@blueprint.errorhandler(Exception)
def page_of_trouble(error: Exception) -> Response:
    """The page that says what went wrong; the app shows it for addresses that belong to no room, too."""
    trouble = trouble_of(error)
    said = jsonify(problem=trouble.detail) if by_script() else render_template("web/trouble.html", trouble=trouble)
    response = make_response(said, trouble.status)
    if isinstance(error, HTTPException):  # Allow, Retry-After and their like
        told = [(name, value) for name, value in error.get_headers() if name.lower() != "content-type"]
        response.headers.extend(told)
    return _guarded(response)


def _guarded(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    return response


def _guard() -> None:
    if comes_from_elsewhere():
        raise Forged
    if request.endpoint not in CARRIES_A_FILE:
        request.max_content_length = MOST_FORM_BYTES
        guard_form(request.form.get(FIELD, ""))
        refuse_repeats(request.form)


def arrives_without_its_cookie() -> bool:
    """A link on another site leads here: the browser keeps a ``SameSite=Strict`` cookie back until the next step."""
    from_another_site = request.headers.get("Sec-Fetch-Site") == "cross-site"
    return from_another_site and request.headers.get("Sec-Fetch-Dest") == "document" and not session


def _ask_to_sign_in() -> ResponseReturnValue:
    if request.method == "POST":
        raise SignedOut
    return redirect(url_for("web.sign_in", next=request.full_path.rstrip("?")), 303)


def _here(endpoint: str) -> Markup:
    return Markup(' aria-current="page"') if request.endpoint == endpoint else Markup("")


def _secret_field() -> Markup:
    return Markup('<input type="hidden" name="{}" value="{}">').format(FIELD, form_secret())
