"""Who calls, and whether they may: access tokens, and the guards of a service that asks for none.

Where the service asks for a token, every call brings one, and its owner is the token's id. Where it asks for none (it
then listens to this machine alone), whoever reaches it is the owner ``local``; a token that is brought all the same is
honoured. Two doors are shut there that a browser would otherwise open to a page of another site: another host's name
for this machine (DNS rebinding), and requests that change something sent from elsewhere.
"""

from __future__ import annotations

import ipaddress
from urllib.parse import urlsplit

from flask import g, request

from service.house import settings, store
from service.problems import FOREIGN_HOST, FOREIGN_ORIGIN, NO_SUCH_INSPECTION, TOKEN_NEEDED, TOKEN_UNKNOWN, Problem
from worker.store import LOCAL, BadKey, Inspection, file_key

__all__ = [
    "comes_from_elsewhere",
    "guard_api",
    "guard_host",
    "is_an_id",
    "is_operator",
    "known_owner",
    "own_inspection",
    "owner",
]

SAFE_METHODS = {"GET", "HEAD", "OPTIONS"}
REALM = 'Bearer realm="pressworthy"'


def owner() -> str:
    """Whose inspections this call sees. Raises :class:`Problem` unless it may call at all."""
    if "owner" not in g:
        g.owner = _owner()
    found: str = g.owner
    return found


def known_owner() -> str | None:
    """Whose call this is, once that has been found out, for the log; nothing is looked up."""
    found: str | None = g.get("owner") or getattr(g.get("visitor"), "owner", None)
    return found


def is_operator(owner: str) -> bool:
    """Whether this caller runs the service: where no token is asked for, whoever reaches it does."""
    return owner == LOCAL


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
    owner()


def guard_host() -> None:
    """Before every call: a service that asks for no token answers to this machine's own name alone."""
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
    return origin is not None and urlsplit(origin).netloc != request.host


def _owner() -> str:
    header = request.headers.get("Authorization")
    if header is None and not settings().asks_for_token:
        return LOCAL
    scheme, _, secret = (header or "").partition(" ")
    if scheme.lower() != "bearer" or not secret.strip():
        raise Problem(
            TOKEN_NEEDED,
            "Send an access token in the header `Authorization: Bearer TOKEN`. "
            "Whoever runs this service makes one with `pressworthy token make NAME`.",
            headers={"WWW-Authenticate": REALM},
        )
    token = store().tokens.find(secret.strip())
    if token is None:
        raise Problem(
            TOKEN_UNKNOWN,
            "This token is not known here, or has been revoked. Send it whole, or ask whoever runs this service "
            "for another.",
            headers={"WWW-Authenticate": f'{REALM}, error="invalid_token"'},
        )
    return token.id


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
