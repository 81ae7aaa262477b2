"""Callbacks on the pages: asked for with a book, sent again, and the secret that signs them."""

from __future__ import annotations

from collections.abc import Callable

from flask import make_response, redirect, render_template, url_for
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import Unauthorized

from service.access import manages
from service.callbacks import call_for, own_secret, refuse_unless_called, secret_of_token
from service.house import store
from service.web.inspection import page_of
from service.web.room import blueprint
from service.web.tokens import own_token
from service.web.visitor import own_inspection, visitor
from worker.queue import ring_calls
from worker.store import Beside

__all__ = ["callback_secret", "calls_to", "send_again", "token_callback_secret"]


def calls_to(url: str) -> Callable[[str], Beside]:
    """What is made with an inspection of this id: a call to ``url``, nothing where that is empty.

    Raises :class:`Problem` for an address that is not called.
    """
    by = visitor()
    if not url:
        return lambda _: Beside()
    refuse_unless_called(url, "The address to call")
    return lambda inspection_id: Beside(call=call_for(inspection_id, url, by))


@blueprint.post("/inspections/<inspection_id>/callback/repetition")
def send_again(inspection_id: str) -> ResponseReturnValue:
    """Make the call again, delivered or not."""
    row = own_inspection(inspection_id)
    if not store().callbacks.repeat(row.id):
        return page_of(
            row, "There is nothing to send again yet: the inspection runs, or the call is being made just now.", 409
        )
    ring_calls()
    return redirect(url_for("web.inspection", inspection_id=row.id, _anchor="callback"), 303)


@blueprint.post("/callback-secret")
@manages
def callback_secret() -> ResponseReturnValue:
    """The secret of calls that are asked for on these pages."""
    by = visitor()
    if by is None:
        raise Unauthorized
    return _secret_page(own_secret(by), own_token(by.token).name if by.token else "")


@blueprint.post("/tokens/<token_id>/callback-secret")
@manages
def token_callback_secret(token_id: str) -> ResponseReturnValue:
    """The secret of calls that are asked for with one of the visitor's own tokens."""
    token = own_token(token_id)
    return _secret_page(secret_of_token(token.id), token.name)


def _secret_page(secret: str, token: str) -> ResponseReturnValue:
    page = make_response(render_template("web/callback_secret.html", secret=secret, token=token))
    page.headers["Cache-Control"] = "no-store"
    return page
