"""A week of ten titles at the desk, with the service as ``pressworthy serve`` runs it, its worker and its broker.

What is wrong with each book is set here; the ISBNs are python-stdnum's to judge.
"""

from __future__ import annotations

import io
import json
import urllib.request
from pathlib import Path
from typing import Any

import pytest
from reportlab.pdfgen.canvas import Canvas
from stdnum import isbn as stdnum

from tests.needs import needs_chromium, needs_module

pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")

from playwright.sync_api import Browser, Page, expect

from tests.web.browser import looking
from tests.web.test_stack import MEASURED, _serving

pytestmark = [needs_chromium, needs_module("playwright")]

INCH = 72
BOOKS = [
    ("The Salt Road", "Maud Kittering"),
    ("A House below the Dyke", "Orla Fenwick"),
    ("Letters to a Ferryman", "Jory Penhale"),
    ("The Oyster Clerk", "Tamsin Vane"),
    ("Nine Winters on Tern Island", "Abel Marchmont"),
    ("Kelp", "Ines Carrow"),
    ("The Bell at Low Water", "Piers Holloway"),
    ("What the Heron Knew", "Dorcas Lyle"),
    ("Small Harbours", "Wilf Ansty"),
    ("The Widow’s Almanac", "Nell Trevanion"),
]
ISBNS = [
    next(n for n in (f"97800000{at:04d}{last}" for last in range(10)) if stdnum.is_valid(n)) for at in range(1, 11)
]


def _book(at: int, *, indent: float = 1.0, width: float = 6.0, isbn: bool = True) -> bytes:
    """A small book with a title page, an imprint page and ten pages of prose."""
    title, author = BOOKS[at]
    whole = io.BytesIO()
    canvas = Canvas(whole, pagesize=(width * INCH, 9 * INCH), invariant=1)
    canvas.setTitle(title)
    canvas.setAuthor(author)
    canvas.setFont("Times-Roman", 24)
    canvas.drawCentredString(width / 2 * INCH, 6 * INCH, title)
    canvas.showPage()
    canvas.setFont("Times-Roman", 9)
    canvas.drawString(1 * INCH, 2 * INCH, f"© 2026 {author}")
    canvas.drawString(1 * INCH, 1.8 * INCH, f"ISBN {ISBNS[at]}" if isbn else "First printing")
    canvas.showPage()
    for page in range(10):
        canvas.setFont("Times-Roman", 11)
        for line in range(34):
            words = f"{title}, page {page + 3}, line {line + 1}: the tide was out, and the mole lay bare."
            canvas.drawString(indent * INCH, (8 - line * 0.2) * INCH, words[: int((width - indent - 0.6) * 13)])
        canvas.showPage()
    canvas.save()
    return whole.getvalue()


def _call(address: str, body: dict[str, Any] | None = None) -> Any:
    data = None if body is None else json.dumps(body).encode()
    asked = urllib.request.Request(address, data, {"Content-Type": "application/json"})
    with urllib.request.urlopen(asked, timeout=60) as answer:
        return json.load(answer)


def _write(folder: Path, name: str, content: bytes) -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def _take_in(page: Page, address: str, files: list[Path]) -> None:
    page.goto(f"{address}/take-in")
    page.get_by_label("The books’ PDFs").set_input_files(files)
    page.get_by_role("button", name="Take them in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What came in")
    expect(page.get_by_text("Some are still being read.")).to_have_count(0, timeout=MEASURED)


def _standing(address: str) -> dict[str, tuple[str, str | None]]:
    """Where each title stands, and the verdict of its last file."""
    listed = _call(f"{address}/v1/titles?limit=50")["titles"]
    return {it["title"]: (it["standing"], it["last"]["verdict"] if it["last"] else None) for it in listed}


def _nine_titles(address: str) -> None:
    for at in range(9):
        title, author = BOOKS[at]
        number = {"isbn": ISBNS[at]} if at != 6 else {}
        told = {"author": author, "title": title, "profile": "ternhaven-mono", "trim": "6 × 9 in"} | number
        _call(f"{address}/v1/titles", told)


def _monday(page: Page, address: str, tmp_path: Path) -> None:
    """Ten files come at once, named as authors name them, and one is no book."""
    names = [f"{ISBNS[0]}.pdf", "house below the dyke FINAL.pdf", "scan0003.pdf", "book.pdf", "ninewinters.pdf"]
    names += ["kelp-v2.pdf", "the-bell-at-low-water.pdf", "upload.pdf", "Small Harbours (1).pdf", "almanac.pdf"]
    bad: dict[int, dict[str, Any]] = {3: {"indent": 0.2}, 5: {"indent": 0.2}, 8: {"isbn": False}}
    files = [_write(tmp_path, name, _book(at, **bad.get(at, {}))) for at, name in enumerate(names)]
    _take_in(page, address, [*files, _write(tmp_path, "notes.docx", b"PK Dear press")])
    expect(page.get_by_text("Not taken")).to_have_count(1)
    expect(page.get_by_text("By the ISBN in the file’s name.")).to_have_count(1)
    expect(page.get_by_text("Its title is known")).to_have_count(8)
    expect(page.get_by_text("Which title is it?")).to_have_count(1)
    page.get_by_role("button", name="Put them with their titles").click()
    page.get_by_role("link", name="Make a new title from it").click()
    expect(page.get_by_label("Title")).to_have_value(BOOKS[9][0])
    expect(page.get_by_label("Author")).to_have_value(BOOKS[9][1])
    expect(page.get_by_label("ISBN")).to_have_value(ISBNS[9])
    page.get_by_label("Printer, and the size").select_option("ternhaven-mono/6 × 9 in")
    page.get_by_role("button", name="Make the title").click()
    expect(page.get_by_text("With its title")).to_have_count(10)
    assert _standing(address).keys() == {title for title, _ in BOOKS}
    assert {standing for standing, _ in _standing(address).values()} == {"to-be-looked-at"}


def _tuesday(page: Page, address: str) -> str:
    """Whoever looks at them writes to an author, and sends a link."""
    page.goto(f"{address}/titles?about=oyster")
    page.get_by_role("link", name="The Oyster Clerk").click()
    page.get_by_role("link", name="Write to the author").click()
    letter = page.get_by_label("The letter").input_value()
    assert letter.startswith("Dear Tamsin Vane,")
    assert "has to be changed" in letter or "have to be changed" in letter
    page.get_by_role("button", name="It is sent").click()
    page.get_by_role("button", name="Make a link").click()
    link = page.get_by_label("The link").input_value()
    assert _standing(address)["The Oyster Clerk"][0] == "waiting-for-author"
    return link


def _wednesday(page: Page, link: str, tmp_path: Path) -> None:
    """The author sends the mended file, and reads what is mended."""
    mended = _write(tmp_path, "oyster, mended.pdf", _book(3))
    page.goto(link)
    page.get_by_label("Your book’s PDF").set_input_files(mended)
    page.get_by_role("button", name="Send it to the press").click()
    expect(page.locator(".verdict")).to_be_visible(timeout=MEASURED)
    expect(page.frame_locator("#report").get_by_text("Since the earlier file")).to_be_visible()


def _thursday_and_friday(page: Page, address: str, tmp_path: Path) -> None:
    """It is looked at and passed, and so is another. Friday: a late file takes a pass back."""
    for about in ("The Oyster Clerk", "The Salt Road"):
        page.goto(f"{address}/titles?about={about}")
        page.get_by_role("link", name=about).click()
        page.get_by_label("Passed by").fill("Nell Trevanion")
        page.get_by_role("button", name="Pass this file for press").click()
        expect(page.get_by_text("Passed for press by Nell Trevanion").first).to_be_visible()
    late = _write(tmp_path, f"{ISBNS[0]} late.pdf", _book(0, indent=1.1))
    _take_in(page, address, [late])
    expect(page.get_by_text("its file 2")).to_be_visible()
    now = _standing(address)
    assert (now["The Salt Road"][0], now["The Oyster Clerk"][0]) == ("to-be-looked-at", "passed")
    assert [standing for standing, _ in now.values()].count("passed") == 1


def test_a_week_of_ten_titles(browser: Browser, tmp_path: Path) -> None:
    with _serving(tmp_path / "data") as address, looking(browser) as (_, page, _witness):
        _nine_titles(address)
        _monday(page, address, tmp_path)
        link = _tuesday(page, address)
        _wednesday(page, link, tmp_path)
        _thursday_and_friday(page, address, tmp_path)
