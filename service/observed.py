"""Every request has an id, one line in the log, and its part in the figures.

The caller's own ``X-Request-Id`` is taken if it is sane, and given back with the answer either way. The line and the
figures name the route and not the address: an address may carry what is no business of a log.
"""

from __future__ import annotations

import logging
import time

from flask import Flask, Response, g, request

from service.access import known_owner
from worker.logs import TOLD, a_request_id, request_id, working_for
from worker.metrics import count_request

__all__ = ["HEADER", "observe_requests", "route"]

HEADER = "X-Request-Id"
NO_ROUTE = "none"
QUIET = {"/v1/health", "/v1/ready"}
"""Asked every few seconds by whoever watches the service: told only at DEBUG."""

log = logging.getLogger("pressworthy.requests")


def observe_requests(app: Flask) -> None:
    """Name, log and count the requests of ``app``. Call it before any other guard is registered."""
    app.before_request(_begin)
    app.after_request(_end)
    app.teardown_request(_forget)


def route() -> str:
    """The route of this request, with the names of its parts and not what stands for them."""
    return request.url_rule.rule if request.url_rule else NO_ROUTE


def _begin() -> None:
    g.begun = time.perf_counter()
    g.working_for = working_for(a_request_id(request.headers.get(HEADER)))
    g.working_for.__enter__()


def _end(response: Response) -> Response:
    seconds = time.perf_counter() - g.begun
    response.headers[HEADER] = request_id() or ""
    level = logging.DEBUG if route() in QUIET else logging.INFO
    told = {"method": request.method, "route": route(), "status": response.status_code}
    told |= {"seconds": round(seconds, 4), "owner": known_owner()}
    log.log(level, "%s %s %d in %.3f s", request.method, route(), response.status_code, seconds, extra={TOLD: told})
    count_request(request.method, route(), response.status_code, seconds)
    return response


def _forget(_: BaseException | None) -> None:
    """The thread answers somebody else next."""
    begun = g.pop("working_for", None)
    if begun is not None:
        begun.__exit__(None, None, None)
