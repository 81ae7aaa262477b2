"""By a link an author sends files of one title and reads their reports, and nothing else is told to anybody.

Secrecy of the address: Referrer Policy (W3C), ``no-referrer``; RFC 9111, section 5.2.2.5, for ``no-store``.
"""

from __future__ import annotations

import logging
import re
from dataclasses import replace
from io import BytesIO

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from service.app import create_app
from service.web.author import pages
from service.web.forgery import FIELD
from tests.desk import desk
from tests.web import rows
from tests.web.visit import SMALL_PDF, Page, Visit
from worker.limits import Limits
from worker.profiles import Profile
from worker.settings import Settings
from worker.store import LOCAL, Failure, Store, Title


@pytest.fixture
def title(store: Store) -> Title:
    return desk.title(store, trim="6 × 9 in")


@pytest.fixture
def secret(store: Store, title: Title) -> str:
    return store.author_links.make(title.id, LOCAL, days=30)[1]


@pytest.fixture
def author(guarded_app: Flask) -> Visit:
    """Somebody without an account, at a service that asks for a token."""
    return Visit(guarded_app.test_client())


def _send(author: Visit, secret: str, content: bytes = SMALL_PDF, name: str = "mole.pdf") -> TestResponse:
    form = author.get(f"/author/{secret}").form(secret)
    return author.submit(form, file=(BytesIO(content), name))


def test_a_link_is_made_and_shown_once(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    made = visit.submit(visit.get(f"/titles/{title.id}").form("/links"))
    assert (made.status_code, made.headers["Cache-Control"]) == (200, "no-store")
    (address,) = re.findall(r"http://localhost(/author/[\w-]{43})\"", made.get_data(as_text=True))
    assert visit.get(address).status == 200
    assert address.rpartition("/")[2] not in visit.get(f"/titles/{title.id}").text
    (link,) = store.author_links.of_title(title.id)
    assert address.rpartition("/")[2] not in str(vars(link))


def test_an_author_sends_a_file_and_follows_it(author: Visit, store: Store, title: Title, secret: str) -> None:
    answer = _send(author, secret)
    assert (answer.status_code, answer.location) == (303, f"/author/{secret}/files/1")
    ((submission, row),) = store.titles.submissions(title.id)
    assert row is not None
    assert (row.owner, row.title, submission.link_id) == (LOCAL, "The Salt Road", submission.link_id)
    assert len(Profile.model_validate_json(row.profile_json).interior.trims) == 1
    assert desk.now(store, title).standing == "to-be-looked-at"
    page = author.get(answer.location)
    assert "It is next." in page.text
    assert author.client.get(f"{answer.location}/progress").get_json()["finished"] is False
    assert author.get(f"{answer.location}/report").status == 404


def test_an_author_reads_the_report(author: Visit, store: Store, title: Title, secret: str) -> None:
    (link,) = store.author_links.of_title(title.id)
    desk.inspected(store, title, link_id=link.id)
    page = author.get(f"/author/{secret}/files/1")
    assert "Not pressworthy" in page.text
    (frame,) = page.all("iframe")
    assert frame["src"] == f"/author/{secret}/files/1/report"
    report = author.client.get(frame["src"] or "")
    assert report.get_data(as_text=True) == rows.REPORT_HTML
    assert "default-src 'none'" in report.headers["Content-Security-Policy"]
    assert "mole" in author.get(f"/author/{secret}").text


def test_a_failed_and_a_deleted_one_say_so(author: Visit, store: Store, title: Title, secret: str) -> None:
    (link,) = store.author_links.of_title(title.id)
    row = rows.measuring(store, 1, 2)
    desk.submitted(store, title, row, link_id=link.id)
    store.rows.fail(row, Failure("limit", "page 2 is too much", "Split the book.", 2))
    assert "Split the book." in author.get(f"/author/{secret}/files/1").text
    store.delete(row.id)
    gone = author.get(f"/author/{secret}/files/1")
    assert (gone.status, "no longer kept" in gone.text) == (200, True)


def _lasting(answer: TestResponse) -> dict[str, str]:
    """The headers that do not differ from one request to the next."""
    passing = {"Date", "Set-Cookie", "X-Request-Id", "X-RateLimit-Remaining", "X-RateLimit-Reset"}
    return {name: value for name, value in answer.headers if name not in passing}


def test_nothing_else_is_seen_by_a_link(author: Visit, store: Store, title: Title, secret: str) -> None:
    """Not the desk's files, not another link's, not another title's, not the desk's words about it."""
    store.titles.change(title.id, LOCAL, {"note": "A quiet word about the advance"})
    desk.inspected(store, title)
    other, _ = store.author_links.make(title.id, LOCAL, days=30)
    desk.inspected(store, title, link_id=other.id)
    kelp = desk.title(store, "Kelp", "Ines Carrow")
    own, _ = store.author_links.make(kelp.id, LOCAL, days=30)
    desk.inspected(store, kelp, link_id=own.id)
    for number in (0, 1, 2, 3, 10**30):
        for end in ("", "/report", "/progress"):
            assert author.get(f"/author/{secret}/files/{number}{end}").status == 404
    page = author.get(f"/author/{secret}")
    assert "What you have sent" not in page.text
    for word in ("advance", "Kelp", "Carrow", "Take in", "Titles", "Inspections"):
        assert word not in page.text
    for link in page.links():
        assert link.startswith((f"/author/{secret}", "#"))
    ((_, row), *_) = store.titles.submissions(title.id)
    assert row is not None
    for address in (
        f"/inspections/{row.id}",
        f"/titles/{title.id}",
        "/titles",
        "/take-in",
        f"/v1/inspections/{row.id}",
    ):
        assert author.client.get(address).status_code in {303, 401}


def _ends(store: Store, title: Title, how: str) -> None:
    (link,) = store.author_links.of_title(title.id)
    if how == "withdrawn":
        store.author_links.withdraw(link.id, title.id)
    else:
        store.titles.stand(title.id, LOCAL, "withdrawn")


@pytest.mark.parametrize("how", ["withdrawn", "title withdrawn"])
def test_a_link_that_has_ended_is_as_one_that_never_was(
    author: Visit, store: Store, title: Title, secret: str, how: str
) -> None:
    (link,) = store.author_links.of_title(title.id)
    desk.inspected(store, title, link_id=link.id)
    form = author.get(f"/author/{secret}").form(secret)
    _ends(store, title, how)
    never = "A" * 43
    for end in ("", "/files/1", "/files/1/report", "/files/1/progress"):
        ended, unknown = (author.client.get(f"/author/{which}{end}") for which in (secret, never))
        assert ended.status_code == unknown.status_code == 404
        same = ended.get_data(as_text=True).replace(secret, never)
        assert same == unknown.get_data(as_text=True)
        assert [_lasting(answer) for answer in (ended, unknown)] == [_lasting(unknown)] * 2
    assert author.submit(form, file=(BytesIO(SMALL_PDF), "x.pdf")).status_code == 404
    assert desk.now(store, title).submissions == 1


@pytest.mark.parametrize("guess", ["x", "\x00", "%", "a" * 44, "é" * 43, ".." * 20, "A" * 5000, "' OR 1=1 --"])
def test_guesses_lead_nowhere(author: Visit, secret: str, guess: str) -> None:
    assert author.client.get(f"/author/{guess}").status_code == 404


def test_the_address_is_told_to_nobody(author: Visit, store: Store, title: Title, secret: str) -> None:
    (link,) = store.author_links.of_title(title.id)
    desk.inspected(store, title, link_id=link.id)
    here = f"/author/{secret}"
    for address in (here, f"{here}/files/1", f"{here}/files/1/report", f"{here}/files/1/progress", f"{here}/files/2"):
        headers = author.client.get(address).headers
        assert headers["Referrer-Policy"] == "no-referrer", address
        assert "no-store" in headers["Cache-Control"], address
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert "default-src 'none'" in headers["Content-Security-Policy"]
    moved = _send(author, secret)
    assert moved.headers["Referrer-Policy"] == "no-referrer"
    for kind in ("no book", ""):
        assert _send(author, secret, kind.encode()).headers["Referrer-Policy"] == "no-referrer"


def test_no_log_has_the_address_even_of_a_fault(
    author: Visit, secret: str, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault is made by a place of ours that breaks; what is logged of it is what an operator would read."""
    caplog.set_level(logging.DEBUG)
    _send(author, secret)

    def broken(*_: object) -> None:
        raise RuntimeError("broken on purpose")

    monkeypatch.setattr(pages, "_files", broken)
    for accepted in ("text/html", "application/json"):
        assert author.client.get(f"/author/{secret}", headers={"Accept": accepted}).status_code == 500
    assert "broken on purpose" in caplog.text
    assert secret not in caplog.text
    assert "log" not in [record.name for record in caplog.records]


def test_as_many_files_a_day_as_may(settings: Settings, store: Store, title: Title, secret: str) -> None:
    few = replace(settings, author_files_a_day=2, asks_for_token=True)
    author = Visit(create_app(few).test_client())
    assert [_send(author, secret).status_code for _ in range(4)] == [303, 303, 429, 429]
    refused = Page(_send(author, secret))
    assert "Send the next one tomorrow" in refused.alert
    assert desk.now(store, title).submissions == 2
    assert len(store.rows.page(LOCAL).items) == 2


def test_a_file_is_no_larger_than_an_authors_may_be(settings: Settings, store: Store, secret: str) -> None:
    small = replace(settings, author_max_bytes=1000, asks_for_token=True, limits=Limits(bytes=100_000))
    author = Visit(create_app(small).test_client())
    refused = _send(author, secret, b"%PDF-1.4" + bytes(2000))
    assert refused.status_code == 413
    assert "larger than the 1 kB" in refused.get_data(as_text=True)
    assert _send(author, secret).status_code == 303
    limits = author.client.get("/v1/limits").get_json()
    assert (limits["author_bytes"], limits["author_files_a_day"], limits["author_link_days"]) == (1000, 6, 90)


def test_refused_files_are_said_in_words_and_cost_nothing(author: Visit, store: Store, secret: str) -> None:
    for content, told in ((b"", "The file is empty"), (b"Dear press", "not a PDF")):
        refused = Page(_send(author, secret, content))
        assert told in refused.alert
    assert store.rows.page(LOCAL).items == []


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Origin": "null"}, 303),  # what a browser sends with a form of a page whose policy is no-referrer
        ({"Origin": "http://localhost"}, 303),
        ({"Sec-Fetch-Site": "same-origin", "Origin": "null"}, 303),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Origin": "https://elsewhere.example"}, 403),
    ],
)
def test_another_sites_form_sends_nothing(
    author: Visit, store: Store, secret: str, headers: dict[str, str], status: int
) -> None:
    form = author.get(f"/author/{secret}").form(secret)
    assert author.submit(form, headers, file=(BytesIO(SMALL_PDF), "x.pdf")).status_code == status
    assert len(store.rows.page(LOCAL).items) == (status == 303)


def test_a_form_without_its_secret_sends_nothing(author: Visit, store: Store, secret: str) -> None:
    form = author.get(f"/author/{secret}").form(secret)
    form.values[FIELD] = "x" * 32
    assert author.submit(form, file=(BytesIO(SMALL_PDF), "x.pdf")).status_code == 403
    assert store.rows.page(LOCAL).items == []


def test_who_opens_a_link_stays_signed_in(guarded_app: Flask, store: Store, secret: str) -> None:
    """A link in a mail comes from another site, and brings no cookie with it at first."""
    _, token = store.tokens.make("the reading room")
    visit = Visit(guarded_app.test_client())
    visit.sign_in(token)
    visit.get(f"/author/{secret}")
    assert "Sign out" in visit.get("/titles").text
    stranger = Visit(guarded_app.test_client())
    mailed = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Dest": "document"}
    first = stranger.client.get(f"/author/{secret}", headers=mailed)
    assert ("Set-Cookie" in first.headers, 'http-equiv="refresh"' in first.get_data(as_text=True)) == (False, True)


def test_a_link_is_withdrawn_on_the_page_of_its_title(visit: Visit, store: Store, title: Title, secret: str) -> None:
    form = visit.get(f"/titles/{title.id}").form("/withdrawal")
    assert visit.submit(form).status_code == 303
    assert store.author_links.find(secret) is None
    page = visit.get(f"/titles/{title.id}")
    assert "withdrawn" in page.text
    assert not [each for each in page.forms if each.action.endswith("/withdrawal")]
