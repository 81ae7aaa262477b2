"""What belongs to one is none at all to another: the same status and the same words as for what never was, by each
address of the pages and of the API that names a title, a delivery, a file or a link."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from io import BytesIO
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.web.forgery import FIELD
from tests.desk import desk
from tests.web.visit import SMALL_PDF, Visit
from worker.store import NewArrival, Store, Title

NEVER = "a" * 26


@pytest.fixture
def theirs(store: Store) -> Title:
    """Somebody else's title, with all that a title may have."""
    title = desk.title(store, "Their own book", "Their Author", owner="somebody", isbn=desk.ISBN)
    file = desk.inspected(store, title)
    store.author_links.make(title.id, "somebody", days=30)
    store.arrivals.note("somebody", [NewArrival("theirs.pdf", inspection_id=file.inspection_id)])
    return title


@pytest.fixture
def mine(guarded_app: Flask, store: Store) -> tuple[Visit, str]:
    """A visitor who has signed in, and the token's secret."""
    _, secret = store.tokens.make("the reading room")
    visit = Visit(guarded_app.test_client())
    visit.sign_in(secret)
    return visit, secret


def _ids(store: Store, title: Title) -> dict[str, tuple[str, str]]:
    """For each variable of an address: theirs, and one that never was."""
    (arrival,) = store.arrivals.without_title("somebody")
    (link,) = store.author_links.of_title(title.id)
    ((submission, _),) = store.titles.submissions(title.id)
    return {
        "title_id": (title.id, f"tit_{NEVER}"),
        "id": (title.id, f"tit_{NEVER}"),
        "delivery_id": (arrival.delivery, f"del_{NEVER}"),
        "link_id": (link.id, f"lnk_{NEVER}"),
        "link": (link.id, f"lnk_{NEVER}"),
        "number": (str(submission.number), "1"),
    }


def _addresses(app: Flask, store: Store, title: Title, prefix: str) -> Iterator[tuple[str, str, str]]:
    """Method, their address, and one that never was, for each address that names something of the desk."""
    ids = _ids(store, title)
    for rule in app.url_map.iter_rules():
        if not rule.rule.startswith(prefix) or not ({"title_id", "delivery_id", "id"} & rule.arguments):
            continue
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
            theirs, never = (_filled(rule.rule, {name: pair[at] for name, pair in ids.items()}) for at in (0, 1))
            yield method, theirs, never


def _filled(rule: str, ids: Mapping[str, str]) -> str:
    return re.sub(r"<(?:\w+:)?(\w+)>", lambda found: ids[found[1]], rule)


def _everything(store: Store, title: Title) -> tuple[object, ...]:
    now = desk.now(store, title)
    links = [(link.id, link.withdrawn_at) for link in store.author_links.of_title(title.id)]
    files = [(file.id, file.passed_at) for file, _ in store.titles.submissions(title.id)]
    arrivals = [(it.id, it.title_id) for it in store.arrivals.without_title("somebody")]
    return now.standing, now.title, now.note, now.touched_at, links, files, arrivals


@pytest.mark.parametrize("prefix", ["/titles/", "/take-in/"])
def test_the_pages(guarded_app: Flask, store: Store, theirs: Title, mine: tuple[Visit, str], prefix: str) -> None:
    visit, _ = mine
    secret = visit.get("/take-in").form("/take-in").values[FIELD]
    before = _everything(store, theirs)
    tried = 0
    for method, their, never in _addresses(guarded_app, store, theirs, prefix):
        answers = []
        for address in (their, never):
            sent = {FIELD: secret, "note": "x", "standing": "withdrawn", "sha256": "a" * 64, "by": "x", "title-1": "x"}
            if address.endswith("/submissions"):
                sent |= {"file": (BytesIO(SMALL_PDF), "x.pdf")}  # type: ignore[dict-item]
            answers.append(visit.client.open(address, method=method, data=sent if method == "POST" else None))
        ours, unknown = (answer.get_data(as_text=True) for answer in answers)
        assert [answer.status_code for answer in answers] == [404, 404], their
        assert ours == unknown
        assert "Their" not in ours
        tried += 1
    assert tried >= {"/titles/": 10, "/take-in/": 2}[prefix]
    assert _everything(store, theirs) == before


def test_the_api(guarded_app: Flask, store: Store, theirs: Title, mine: tuple[Visit, str]) -> None:
    client: FlaskClient = guarded_app.test_client()
    headers = {"Authorization": f"Bearer {mine[1]}"}
    before = _everything(store, theirs)
    tried = 0
    for method, their, never in _addresses(guarded_app, store, theirs, "/v1/titles/"):
        answers = []
        for address in (their, never):
            if address.endswith("/submissions") and method == "POST":
                sent: dict[str, Any] = {"data": SMALL_PDF, "content_type": "application/pdf"}
            else:
                bodies: dict[str, dict[str, object]] = {"pass": {"sha256": "a" * 64}, "links": {"days": 1}}
                body = bodies.get(address.rpartition("/")[2], {"note": "x", "standing": "withdrawn"})
                sent = {} if method == "GET" else {"json": body}
            answers.append(client.open(address, method=method, headers=headers, **sent))
        assert [answer.status_code for answer in answers] == [404, 404], (method, their)
        assert answers[0].get_json() == answers[1].get_json()
        assert answers[0].get_json()["type"] == "/problems/no-such-title"
        tried += 1
    assert tried == 11
    assert client.get("/v1/titles", headers=headers).get_json()["titles"] == []
    assert _everything(store, theirs) == before


def test_nothing_of_theirs_is_in_a_list_or_a_choice(store: Store, theirs: Title, mine: tuple[Visit, str]) -> None:
    visit, _ = mine
    (arrival,) = store.arrivals.without_title("somebody")
    for address in ("/titles", f"/titles?about={desk.ISBN}", "/take-in", f"/titles/new?arrival={arrival.id}"):
        page = visit.get(address)
        assert page.status == 200
        assert "Their" not in page.text
        assert "theirs.pdf" not in page.text
    form = visit.get("/take-in").form("/take-in")
    sent = visit.submit(form, file=(BytesIO(SMALL_PDF), f"{desk.ISBN} their-own-book.pdf"))
    chosen = visit.get(sent.location)
    assert "Their" not in chosen.text
    assert desk.now(store, theirs).submissions == 1


def test_their_file_is_not_put_with_my_title(store: Store, theirs: Title, mine: tuple[Visit, str]) -> None:
    visit, _ = mine
    (arrival,) = store.arrivals.without_title("somebody")
    form = visit.get("/titles/new").form("/titles")
    typed = {"author": "Me", "title": "Mine", "printing": "ternhaven-mono", "arrival": arrival.id}
    made = visit.submit(form, **typed)
    assert made.location.startswith("/titles/tit_")
    assert store.titles.submissions(made.location.rpartition("/")[2]) == []
    assert [it.id for it in store.arrivals.without_title("somebody")] == [arrival.id]


def test_who_has_not_signed_in_sees_the_door_alone(guarded_app: Flask, store: Store, theirs: Title) -> None:
    stranger = guarded_app.test_client()
    for method, their, _ in _addresses(guarded_app, store, theirs, "/titles/"):
        answer = stranger.open(their, method=method)
        assert answer.status_code in ({303} if method == "GET" else {401, 403}), their
    for address in ("/titles", "/take-in"):
        assert stranger.get(address).location.startswith("/sign-in")
