"""A visitor without a script: gets pages, reads their forms, sends them as they stand."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from io import BytesIO
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

SMALL_PDF = b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj 2 0 obj<</Type/Pages/Count 0/Kids[]>>endobj\n"


@dataclass
class Form:
    """A form as it stands in a page: where it goes, and what it carries unless one types something else."""

    action: str
    method: str
    values: dict[str, str] = field(default_factory=dict)


class Page(HTMLParser):
    """What a test looks for in a page: its elements, its forms, its text."""

    def __init__(self, response: TestResponse) -> None:
        super().__init__()
        self.status = response.status_code
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.forms: list[Form] = []
        self.text = ""
        self.feed(response.get_data(as_text=True))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.elements.append((tag, given))
        if tag == "form":
            self.forms.append(Form(given.get("action") or "", (given.get("method") or "get").lower()))
        elif tag == "input" and self.forms and given.get("type") in {"hidden", "text", "search"}:
            self.forms[-1].values[given.get("name") or ""] = given.get("value") or ""

    def handle_data(self, data: str) -> None:
        self.text += data

    def form(self, action_ends: str) -> Form:
        """The one form that goes to an address which ends so."""
        (found,) = [form for form in self.forms if form.action.endswith(action_ends)]
        return found

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """The attributes of every element of this name."""
        return [attributes for name, attributes in self.elements if name == tag]

    def links(self) -> list[str]:
        """Where its links lead."""
        return [given.get("href") or "" for given in self.all("a")]

    @property
    def alert(self) -> str:
        """What it says went wrong."""
        return " ".join(self.text.split())


class Visit:
    """One browser's visit, cookies kept."""

    def __init__(self, client: FlaskClient) -> None:
        self.client = client

    def get(self, address: str, **headers: str) -> Page:
        """Read a page."""
        return Page(self.client.get(address, headers=_named(headers)))

    def submit(self, form: Form, headers: dict[str, str] | None = None, /, **typed: Any) -> TestResponse:
        """Send a form, with what was typed over what stood in it."""
        multipart = any(isinstance(value, tuple) for value in typed.values())
        kind = "multipart/form-data" if multipart else None
        return self.client.post(form.action, data=form.values | typed, headers=headers or {}, content_type=kind)

    def send_book(
        self, content: bytes = SMALL_PDF, name: str = "book.pdf", headers: dict[str, str] | None = None, **typed: str
    ) -> TestResponse:
        """Fill in the first page and send it."""
        form = self.get("/").form("/inspections")
        chosen = {"profile": "ternhaven-mono"} | typed
        return self.submit(form, headers, **chosen, file=(BytesIO(content), name))

    def sign_in(self, secret: str, onward: str = "/") -> TestResponse:
        """Paste a token."""
        form = self.get(f"/sign-in?next={onward}").form("/sign-in")
        return self.submit(form, token=secret)


def _named(headers: dict[str, str]) -> dict[str, str]:
    return {name.replace("_", "-"): value for name, value in headers.items()}
