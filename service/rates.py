"""How many requests of one caller are answered in a minute: a bound on what any one of them can cost the others.

Counted by member where a token is brought, and by address otherwise, in the broker that the workers share; in this
process alone while the broker is away. Addresses are counted in so many heaps, by a hash that nobody can foretell: the
count takes no more room however many addresses there are, and none is written down.
"""

from __future__ import annotations

import hashlib
import ipaddress
import logging
import time
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

from flask import Flask, Response, current_app, request
from flask_limiter import Limiter, RequestLimit
from redis.backoff import NoBackoff
from redis.retry import Retry
from sqlalchemy.exc import SQLAlchemyError

from service.access import owner
from service.house import settings
from service.problems import Problem
from service.web.visitor import visitor
from worker.settings import Settings
from worker.store import LOCAL, StoreDown

__all__ = ["count_requests", "storage_of"]

log = logging.getLogger(__name__)

NOT_COUNTED = {"/v1/health", "/v1/ready"}
"""Asked by whatever watches over the service."""

HEAPS = 8192
SHORTEST_NETWORK = 64
"""Bits of an IPv6 address that tell one customer from another: a host has the others to itself (RFC 4291, 2.5.4)."""

PATIENCE_SECONDS = 0.5
"""Within which the broker answers, or is taken for absent."""

IN_MEMORY = "memory://"
SCHEMES = {
    "redis": "redis",
    "rediss": "rediss",
    "redis+socket": "redis+unix",
    "valkey": "redis",
    "valkeys": "rediss",
}
"""How the queue names a broker, and how it is named where requests are counted."""


def count_requests(app: Flask) -> None:
    """Have ``app`` count, and refuse what is too much."""
    found = settings(app)
    storage = storage_of(found)
    patience: dict[str, Any] = {"socket_timeout": PATIENCE_SECONDS, "socket_connect_timeout": PATIENCE_SECONDS}
    options = {} if storage == IN_MEMORY else patience | {"retry": Retry(NoBackoff(), 0)}
    limiter = Limiter(
        _caller,
        app=app,
        application_limits=[f"{found.most_requests} per minute"],
        application_limits_exempt_when=_not_counted,
        strategy="sliding-window-counter",
        storage_uri=storage,
        storage_options=options,
        key_prefix="pressworthy",
        in_memory_fallback_enabled=True,
        swallow_errors=True,
        request_identifier=lambda: request.endpoint or "nowhere",
    )

    def tell(response: Response) -> Response:
        return _told(response, limiter.current_limit)

    app.after_request(tell)


def storage_of(found: Settings) -> str:
    """Where requests are counted: the queue's broker, or this process alone where that is of another kind."""
    parts = urlsplit(found.broker_url.partition(";")[0])
    scheme = SCHEMES.get(parts.scheme)
    if scheme is None:
        log.warning("requests are counted in each process alone: the broker is none that counts")
        return IN_MEMORY
    asked = parse_qs(parts.query)
    if "virtual_host" in asked:  # the number of the database, as the queue has it on a socket
        asked["db"] = asked.pop("virtual_host")
    query = urlencode(asked, doseq=True)
    return f"{scheme}://{parts.netloc}{parts.path}" + (f"?{query}" if query else "")


def _caller() -> str:
    found = _owner()
    return f"address {_heap(request.remote_addr or '')}" if found is None else f"owner {found}"


def _owner() -> str | None:
    """The member whose token is brought, or who has signed in; None where nobody is known, or nothing can be asked."""
    try:
        if request.blueprint == "web":
            visits = visitor()
            found = None if visits is None else visits.owner
        else:
            found = owner()
    except (Problem, StoreDown, SQLAlchemyError):
        return None
    return None if found == LOCAL else found


def _heap(address: str) -> int:
    """The heap that an address is counted in; the key is that of the signed cookie, alike on every web host."""
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        network = address
    else:
        bits = 32 if parsed.version == 4 else SHORTEST_NETWORK
        network = str(ipaddress.ip_network((parsed, bits), strict=False))
    secret = str(current_app.secret_key or "").encode()[:64]
    return int.from_bytes(hashlib.blake2b(network.encode(), key=secret, digest_size=4).digest()) % HEAPS


def _not_counted() -> bool:
    return request.path in NOT_COUNTED or request.endpoint == "web.static"


def _told(response: Response, limit: RequestLimit | None) -> Response:
    """Say in the answer how many requests there may be, how many are left, and until when."""
    if limit is None:
        return response
    try:
        stands = {"Limit": limit.limit.amount, "Remaining": max(0, limit.remaining), "Reset": limit.reset_at}
    except Exception as error:  # the broker has gone since it counted; the answer holds without it
        log.warning("requests cannot be counted in the broker: %s", error)
        return response
    response.headers.update({f"X-RateLimit-{name}": str(value) for name, value in stands.items()})
    if limit.breached:
        response.headers["Retry-After"] = str(max(1, stands["Reset"] - int(time.time())))
    return response
