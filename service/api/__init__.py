"""The API, ``/v1``: one module a resource."""

from __future__ import annotations

from flask_openapi.openapi import OpenAPI

from service.api import inspections, problem_kinds, profiles, quota, results, shares, standing

__all__ = ["register_api"]


def register_api(app: OpenAPI) -> None:
    """Put every address of the API into ``app``."""
    for module in (inspections, results, shares, quota, profiles, standing, problem_kinds):
        app.register_api(module.blueprint)
