"""Signing in by pasting an access token, and signing out."""

from __future__ import annotations

from flask import make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.access import takes
from service.house import store
from service.web.attempts import Attempts
from service.web.room import blueprint
from service.web.sessions import SESSION_DAYS
from service.web.visitor import sign_in_as, sign_out_visitor, visitor

__all__ = ["sign_in", "sign_out", "try_token"]

UNKNOWN = (
    "This token is not known here, or its force has ended. Paste it whole, or ask whoever runs the service for another."
)

attempts = Attempts()


@blueprint.get("/sign-in")
def sign_in() -> ResponseReturnValue:
    """The form; whoever needs no signing in is led on."""
    if visitor() is not None:
        return redirect(_onward(request.args.get("next", "")), 303)
    return _form(request.args.get("next", ""))


@blueprint.post("/sign-in")
def try_token() -> ResponseReturnValue:
    """Try a token."""
    onward, address = request.form.get("next", ""), request.remote_addr or ""
    wait = attempts.wait(address)
    if wait:
        return _form(onward, f"Too many tries from your address. Wait {wait} seconds.", 429, {"Retry-After": str(wait)})
    bearer = store().tokens.find(request.form.get("token", "").strip())
    if bearer is None:
        attempts.note_failure(address)
        return _form(onward, UNKNOWN, 403)
    sign_in_as(bearer.token)
    return redirect(_onward(onward), 303)


@blueprint.post("/sign-out")
@takes("read")
def sign_out() -> ResponseReturnValue:
    """End the visit."""
    sign_out_visitor()
    return redirect(url_for("web.sign_in"), 303)


def _form(
    onward: str, problem: str = "", status: int = 200, headers: dict[str, str] | None = None
) -> ResponseReturnValue:
    page = render_template("web/sign_in.html", next=onward, problem=problem, days=SESSION_DAYS)
    return make_response(page, status, headers or {})


def _onward(asked: str) -> str:
    """Where to go after signing in: a page of ours, or the first one."""
    ours = asked.startswith("/") and not asked.startswith("//") and asked.isprintable() and "\\" not in asked
    return asked if ours else url_for("web.choose")
