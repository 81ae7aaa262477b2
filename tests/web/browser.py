"""A real browser that looks at a real server, and writes down whatever it complains of."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from flask import Flask
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, ViewportSize, sync_playwright
from werkzeug.serving import make_server

from tests.needs import chromium

DESK: ViewportSize = {"width": 1180, "height": 860}
PHONE: ViewportSize = {"width": 390, "height": 844}
NARROWEST: ViewportSize = {"width": 320, "height": 640}


@dataclass
class Witness:
    """What was asked of which host, and every complaint of the browser's (its policy's violations are among them)."""

    hosts: set[str] = field(default_factory=set)
    complaints: list[str] = field(default_factory=list)

    def watch(self, page: Page) -> None:
        """See and hear this page from here on."""
        page.on("request", self._asked)
        page.on("console", self._said)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _asked(self, request: Request) -> None:
        if urlsplit(request.url).scheme in {"http", "https"}:
            self.hosts.add(urlsplit(request.url).netloc)

    def _said(self, message: ConsoleMessage) -> None:
        # An answer that is an error is told to the console as well; the tests look at the page for that.
        if message.type == "error" and not message.text.startswith("Failed to load resource"):
            self.complaints.append(message.text)


@contextmanager
def running_browser() -> Iterator[Browser]:
    """Chromium, as the system has it."""
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox", "--disable-gpu"])
        yield found
        found.close()


@contextmanager
def looking(browser: Browser, **options: Any) -> Iterator[tuple[BrowserContext, Page, Witness]]:
    """A fresh visit. When it ends without trouble, the browser must have had nothing to complain of."""
    context = browser.new_context(**{"viewport": DESK} | options)
    context.set_default_timeout(20_000)
    page, witness = context.new_page(), Witness()
    witness.watch(page)
    try:
        yield context, page, witness
        assert witness.complaints == []
    finally:
        context.close()


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """The app on a port of this machine; its address."""
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join()


def sideways(page: Page) -> int:
    """Pixels by which the page is wider than its window."""
    return int(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))
