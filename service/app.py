"""The app: the API and the web pages around one store."""

from __future__ import annotations

from flask import Flask, Response, request

from service import errors
from service.access import guard_host
from service.api import register_api
from service.api.description import describing_app
from service.bodies import take_the_rest
from service.house import furnish
from service.observed import observe_requests
from service.rates import count_requests
from service.repeats import refuse_repeated_parameters
from service.web import author_pages, shared_pages
from service.web import blueprint as web_pages
from worker import queue
from worker.settings import Settings
from worker.store import open_store

__all__ = ["create_app"]

HEADERS = {
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "private, no-cache",
}
"""Where an answer brings none of its own."""


def create_app(settings: Settings | None = None) -> Flask:
    """The service, ready to be served; ``settings`` are the environment's where left out."""
    settings = settings or Settings.from_environment()
    queue.configure(settings)
    app = describing_app(__name__)
    furnish(app, settings, open_store(settings))
    observe_requests(app)
    app.before_request(guard_host)
    count_requests(app)
    app.before_request(refuse_repeated_parameters)
    app.after_request(_finish)
    errors.register(app)
    register_api(app)
    app.register_blueprint(web_pages)
    app.register_blueprint(author_pages)
    app.register_blueprint(shared_pages)
    return app


def _finish(response: Response) -> Response:
    if response.headers.get("Cache-Control") == "no-cache":  # Flask's own, for a file: what we keep is one caller's
        del response.headers["Cache-Control"]
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if response.status_code == 204:  # there is nothing that would be of a type
        response.headers.pop("Content-Type", None)
    take_the_rest(request, response)
    return response
