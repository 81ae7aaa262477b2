"""Figures for Prometheus, named by its own practice (https://prometheus.io/docs/practices/naming/).

What happens is counted in each process: requests in the web service, inspections in a worker. How things stand is not
counted but looked up, in the rows and at the broker, when Prometheus asks (:mod:`worker.exporter`). No label names a
person, a file or an inspection: each takes a few known values.
"""

from __future__ import annotations

from prometheus_client import Counter, Histogram

__all__ = ["METHODS", "PREFIX", "count_child", "count_inspection", "count_measuring", "count_request"]

PREFIX = "pressworthy"

METHODS = frozenset({"DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT"})
"""Of HTTP; whatever else a caller writes there is ``other``."""

LIMITS = frozenset({"seconds", "memory", "pages", "operators", "nesting", "measurements", "proof"})
"""Limits that children are ended by; the rest is ``other``: its name came from the child."""

SECONDS = (0.005, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, 60)

_requests = Counter(
    f"{PREFIX}_http_requests", "Requests answered, by route and class of status.", ["method", "route", "status"]
)
_request_seconds = Histogram(
    f"{PREFIX}_http_request_duration_seconds",
    "Seconds from a request's headers to its answer's.",
    ["method", "route"],
    buckets=SECONDS,
)
_inspections = Counter(
    f"{PREFIX}_inspections", "Attempts at inspections that have ended, by how they ended.", ["outcome"]
)
_measuring = Histogram(f"{PREFIX}_measuring_seconds", "Seconds that the measuring of a file took.", buckets=SECONDS)
_children = Counter(
    f"{PREFIX}_children_ended", "Children behind the fence that were ended by a limit, or broke off.", ["reason"]
)


def count_request(method: str, route: str, status: int, seconds: float) -> None:
    """A request has been answered; ``route`` is that of the code, never an address."""
    method = method if method in METHODS else "other"
    _requests.labels(method, route, f"{status // 100}xx").inc()
    _request_seconds.labels(method, route).observe(seconds)


def count_inspection(outcome: str) -> None:
    """An attempt has ended: with a verdict, a failure's code, or ``cancelled``, ``given-back``, ``lost``."""
    _inspections.labels(outcome).inc()


def count_measuring(seconds: float) -> None:
    """A file has been measured, or tried to be."""
    _measuring.observe(seconds)


def count_child(reason: str) -> None:
    """A child was ended by a limit of that name; or ``fault``."""
    _children.labels(reason if reason in LIMITS or reason == "fault" else "other").inc()
