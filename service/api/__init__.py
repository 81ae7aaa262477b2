"""The API, ``/v1``: one module a resource."""

from __future__ import annotations

from flask_openapi.openapi import OpenAPI

from service.api import (
    author_links,
    deliveries,
    inspections,
    problem_kinds,
    profiles,
    quota,
    reference,
    results,
    shares,
    standing,
    submissions,
    titles,
)

__all__ = ["register_api"]


def register_api(app: OpenAPI) -> None:
    """Put every address of the API into ``app``."""
    desk = (titles, submissions, author_links)
    for module in (inspections, results, deliveries, shares, *desk, quota, profiles, standing, problem_kinds):
        app.register_api(module.blueprint)
    app.register_blueprint(reference.blueprint)
