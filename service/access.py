"""Who calls, and whether they may: access tokens, and the guards of a service that asks for none.

Where the service asks for a token, every call brings one and acts in the name of that token's member, within its
scopes: to look takes ``read``, to send and to stop ``submit``, and whatever :func:`manages` marks takes ``manage``.
Where it asks for none (it then listens to this machine alone), whoever reaches it is the owner ``local`` and may do
all; a token that is brought all the same is honoured. Two doors are shut there that a browser would otherwise open to a
page of another site: another host's name for this machine (DNS rebinding), and requests that change something sent from
elsewhere.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeVar
from urllib.parse import urlsplit

from flask import current_app, g, request

from service.house import settings, store
from service.problems import (
    FOREIGN_HOST,
    FOREIGN_ORIGIN,
    MALFORMED,
    NO_SUCH_INSPECTION,
    SCOPE_MISSING,
    TOKEN_NEEDED,
    TOKEN_UNKNOWN,
    Problem,
)
from worker.store import LOCAL, SCOPES, BadKey, Bearer, Inspection, Scope, file_key

__all__ = [
    "Caller",
    "bearer_as_caller",
    "caller",
    "comes_from_elsewhere",
    "guard_api",
    "guard_host",
    "is_an_id",
    "is_our_origin",
    "known_owner",
    "local_caller",
    "manages",
    "need_scope",
    "own_inspection",
    "owner",
    "takes",
]

View = TypeVar("View", bound=Callable[..., Any])

SAFE_METHODS = {"GET", "HEAD", "OPTIONS"}
REALM = 'Bearer realm="pressworthy"'


@dataclass(frozen=True)
class Caller:
    """Who acts: the ``owner`` (a member's id, or ``local``), its ``name``, and the id and scopes of the token."""

    owner: str
    name: str | None
    token: str | None
    scopes: frozenset[Scope]
    operator: bool


def caller() -> Caller:
    """Who calls the API. Raises :class:`Problem` unless it may call at all."""
    if "caller" not in g:
        g.caller = _caller()
    found: Caller = g.caller
    return found


def owner() -> str:
    """Whose inspections this call sees. Raises :class:`Problem` unless it may call at all."""
    return caller().owner


def local_caller() -> Caller:
    """Whoever reaches a service that asks for no token."""
    return Caller(LOCAL, None, None, frozenset(SCOPES), operator=True)


def bearer_as_caller(bearer: Bearer) -> Caller:
    """Whoever brings a token."""
    token, member = bearer
    return Caller(member.id, member.name, token.id, token.scopes, member.operator)


def takes(scope: Scope) -> Callable[[View], View]:
    """Mark a view with the scope that it takes, where its method does not tell: see :func:`need_scope`."""

    def marked(view: View) -> View:
        view.scope = scope  # type: ignore[attr-defined]
        return view

    return marked


manages = takes("manage")
"""Mark a view that deletes, shares, or changes what the member keeps."""


def need_scope(held: Iterable[Scope]) -> None:
    """Raise :class:`Problem` unless what is ``held`` has the scope that the present request takes."""
    view = current_app.view_functions.get(request.endpoint or "")
    by_method: Scope = "read" if request.method in SAFE_METHODS else "submit"
    asked: Scope = getattr(view, "scope", by_method)
    if asked not in held:
        raise Problem(
            SCOPE_MISSING,
            f"This takes a token with the scope `{asked}`; yours has {', '.join(sorted(held)) or 'none'}. "
            "Whoever runs this service makes another with `pressworthy token make`.",
            headers={"WWW-Authenticate": f'{REALM}, error="insufficient_scope", scope="{asked}"'},
            scope=asked,
        )


def known_owner() -> str | None:
    """Whose call this is, once that has been found out, for the log; nothing is looked up."""
    found: Caller | None = g.get("caller") or g.get("visitor")
    return found.owner if found else None


def own_inspection(inspection_id: str) -> Inspection:
    """The caller's inspection of that id. Raises :class:`Problem`, for another caller's too."""
    row = store().rows.get(inspection_id, owner()) if is_an_id(inspection_id) else None
    if row is None:
        raise Problem(
            NO_SUCH_INSPECTION,
            "No inspection of yours has this id. It may be deleted, or its days may be over; "
            "GET /v1/inspections lists those that you have.",
        )
    return row


def guard_api() -> None:
    """Before each call of the API that is not open to all."""
    if not settings().asks_for_token and request.method not in SAFE_METHODS and comes_from_elsewhere():
        raise Problem(
            FOREIGN_ORIGIN,
            "The browser says that a page of another site sent this. Send it from this service's own pages, "
            "or from a program outside the browser.",
        )
    need_scope(caller().scopes)


def guard_host() -> None:
    """Before every call: it names a host, and a service that asks for no token answers to this machine's own alone."""
    if not request.headers.get("Host") and request.environ.get("SERVER_PROTOCOL") == "HTTP/1.1":
        raise Problem(
            MALFORMED, "A request of HTTP/1.1 names its host (RFC 9112, section 3.2). Send the header `Host`."
        )
    if not settings().asks_for_token and not _names_this_machine(urlsplit(f"//{request.host}").hostname or ""):
        raise Problem(
            FOREIGN_HOST,
            "This service asks for no token and so answers to 127.0.0.1 and localhost alone. "
            "Use one of these names, or have the service ask for tokens.",
        )


def comes_from_elsewhere() -> bool:
    """Whether the browser itself says that another site made this request (Fetch Metadata, W3C; RFC 6454)."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site not in {"same-origin", "none"}
    origin = request.headers.get("Origin")
    return origin is not None and not is_our_origin(origin)


def is_our_origin(origin: str) -> bool:
    """Whether a page of this origin (RFC 6454) came from the host that is asked; one that cannot be read did not."""
    try:
        return urlsplit(origin).netloc == request.host
    except ValueError:
        return False


def _caller() -> Caller:
    header = request.headers.get("Authorization")
    if header is None and not settings().asks_for_token:
        return local_caller()
    scheme, _, secret = (header or "").partition(" ")
    if scheme.lower() != "bearer" or not secret.strip():
        raise Problem(
            TOKEN_NEEDED,
            "Send an access token in the header `Authorization: Bearer TOKEN`. "
            "Whoever runs this service makes one with `pressworthy token make NAME`.",
            headers={"WWW-Authenticate": REALM},
        )
    bearer = store().tokens.find(secret.strip())
    if bearer is None:
        raise Problem(
            TOKEN_UNKNOWN,
            "This token is not known here, or its force has ended. Send it whole, or ask whoever runs this service "
            "for another.",
            headers={"WWW-Authenticate": f'{REALM}, error="invalid_token"'},
        )
    return bearer_as_caller(bearer)


def is_an_id(text: str) -> bool:
    """Whether an inspection could have this id; no other text is asked of the database."""
    try:
        file_key(text)
    except BadKey:
        return False
    return True


def _names_this_machine(host: str) -> bool:
    """Whether a host's name can only mean this machine (RFC 6761 section 6.3 for ``localhost``)."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")
