"""The running service, called by its own description (schemathesis): no fault, nothing undescribed, no schema breached.

A real gunicorn that asks for a token, on a folder in which inspections of every state are kept. What the description
cannot know, the ids of what is there, a sound book, is put into most of the calls; an id is taken by the name of the
list in the address, so that a new address of the same habit is reached without a word here.
"""

from __future__ import annotations

import io
import re
import zlib
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import pytest
import schemathesis
from PIL import Image
from schemathesis import Case, CheckContext, HookContext, Response, SerializationContext
from schemathesis.core import NOT_SET
from schemathesis.engine import events, from_schema
from schemathesis.engine.recorder import ScenarioRecorder
from schemathesis.transport.serialization import Binary

from tests.api import books
from tests.api.server import serving
from tests.api.test_own_profiles import MOLE
from tests.house import House
from worker.settings import Settings
from worker.store import Failure, NewSubmission, NewTitle, Store, open_store, picture_key, proof_key

FAULTS = {500, 501, 502, 504}
"""503 is no fault where it is described: this service has no broker, so some pictures are never drawn."""

NOT_ASKED = {
    "not_a_server_error": {"enabled": False},  # see FAULTS
    "positive_data_acceptance": {"enabled": False},  # no schema says which printers there are, what a sound PDF is
}
PHASES = {
    "examples": {"enabled": True},
    "coverage": {"enabled": True},
    "fuzzing": {"enabled": True},
    "stateful": {"enabled": True, "max-steps": 5, "generation": {"max-examples": 6}},
}
OPERATIONS = [
    # A profile is a deep tree: to cover each of its places is the business of the loader's own tests.
    {"include-operation-id": "putProfile", "phases": {"coverage": {"enabled": False}}},
    # A call that is given a sound book is no longer the wrong one that it was made as.
    {"include-operation-id": "createInspection", "checks": {"negative_data_rejection": {"enabled": False}}},
    {"include-operation-id": "createSubmission", "checks": {"negative_data_rejection": {"enabled": False}}},
]
EXAMPLES = 8

ONE = "/v1/inspections/{id}"
BOOK = Binary(books.book())


@dataclass(frozen=True)
class Asked:
    """A call of what is there, and the status that answers it. ``thing`` names an id of :meth:`Kept.thing`."""

    method: str
    path: str
    status: int
    thing: str | None = None
    parts: Mapping[str, Any] = field(default_factory=dict)
    query: Mapping[str, str] = field(default_factory=dict)
    body: Any = NOT_SET
    media_type: str = "application/json"


TOML = "application/toml"
REACHED = [
    Asked(
        "POST", "/v1/inspections", 202, query={"profile": "common-paperback"}, body=BOOK, media_type="application/pdf"
    ),
    Asked("GET", "/v1/inspections", 200),
    Asked("GET", ONE, 200, "done"),
    Asked("GET", f"{ONE}/report", 200, "done"),
    Asked("GET", f"{ONE}/report.html", 200, "done"),
    Asked("GET", f"{ONE}/report.json", 200, "done"),
    Asked("GET", f"{ONE}/report", 409, "waiting"),
    Asked("GET", f"{ONE}/measurements", 200, "done"),
    Asked("GET", f"{ONE}/pages/{{page}}.png", 200, "done", {"page": 1}),
    Asked("GET", f"{ONE}/proof.pdf", 200, "done"),
    Asked("POST", f"{ONE}/judgements", 201, "done", body={"profile": "common-paperback"}),
    Asked("POST", f"{ONE}/shares", 201, "done", body={"days": 3}),
    Asked("POST", f"{ONE}/cancellation", 200, "waiting"),
    Asked("DELETE", ONE, 204, "waiting"),
    Asked("PUT", "/v1/profiles/{id}", 201, "profile", body=MOLE, media_type=TOML),
    Asked("PUT", "/v1/profiles/{id}", 422, "profile", body="[interior", media_type=TOML),
    Asked("GET", "/v1/profiles/{id}", 200, "profile"),
    Asked("DELETE", "/v1/profiles/{id}", 204, "profile"),
    Asked("PATCH", "/v1/titles/{id}", 200, "title", body={"note": "A second look."}),
    Asked("POST", "/v1/titles/{id}/submissions", 202, "title", body=BOOK, media_type="application/pdf"),
    Asked("GET", "/v1/titles/{id}/submissions/{number}", 200, "title", {"number": 1}),
    Asked("GET", "/v1/titles/{id}/submissions/{number}/letter", 200, "title", {"number": 1}),
    Asked("POST", "/v1/titles/{id}/links", 201, "title", body={"days": 3}),
    Asked("GET", "/v1/titles/{id}/links", 200, "title"),
    Asked("DELETE", "/v1/titles/{id}", 204, "title"),
]
"""What is asked in this order, whatever else is made up."""
AN_ID = re.compile(r"[a-z]{3}_[a-z2-7]{26}")


@dataclass(frozen=True)
class Kept:
    """A service, and the ids of what it keeps, by the list that they stand in."""

    address: str
    secret: str
    ids: dict[str, list[str]]

    def thing(self, name: str) -> str:
        """The id of one thing of a kind."""
        inspections = self.ids["inspections"]
        known = {"done": inspections[0], "waiting": inspections[-1], "title": self.ids["titles"][0]}
        return known.get(name) or self.ids["profiles"][0]


@pytest.fixture
def kept(tmp_path: Any, house: House) -> Iterator[Kept]:
    """A member's token, and a dozen inspections, done and otherwise."""
    with house.furnished(tmp_path) as kept_in:
        store = open_store(Settings.from_environment(tmp_path, kept_in))
        token, secret = store.tokens.make("the reading room")
        told = {"PRESSWORTHY_ASKS_FOR_TOKEN": "yes", "PRESSWORTHY_MAX_REQUESTS": "1000000"} | kept_in
        with serving(tmp_path, **told) as web:
            yield Kept(f"http://127.0.0.1:{web.port}", secret, _fill(store, token.member))
        store.close()


@pytest.fixture
def real_things(kept: Kept) -> Iterator[None]:
    """Every call is made of what is there, or not, as chance has it."""

    @schemathesis.hook
    def before_call(context: HookContext, case: Case[Any], kwargs: dict[str, Any]) -> None:
        _bring_what_is_there(case, kept.ids)

    yield
    schemathesis.hooks.unregister(before_call)


@schemathesis.check
def no_fault(context: CheckContext, response: Response, case: Case[Any]) -> None:
    """Nothing breaks off."""
    assert response.status_code not in FAULTS, response.text


@schemathesis.serializer("application/toml")
def toml(_context: SerializationContext, value: Any) -> bytes:
    """It is sent as it is."""
    return str(value).encode("utf-8", "surrogatepass")


def test_every_call_is_answered_as_described(kept: Kept, real_things: None) -> None:
    schema = schemathesis.openapi.from_url(f"{kept.address}/openapi.json", config=_config(kept.secret))
    answered: Counter[tuple[str, int]] = Counter()
    wrong: dict[str, str] = {}
    for event in from_schema(schema).execute():
        if isinstance(event, events.ScenarioFinished):
            wrong |= _failures(event.recorder)
            answered.update(_answers(event.recorder))
        elif isinstance(event, events.NonFatalError | events.FatalError):
            wrong[str(event)] = str(getattr(event, "info", event))
    assert not wrong, "\n\n".join(wrong.values())
    assert {f"{asked.method} {asked.path}" for asked in REACHED} <= {call for call, _ in answered}


def test_what_is_there_is_answered_as_described(kept: Kept) -> None:
    """Each answer is held against the description by schemathesis, and has the one status that it must have."""
    schema = schemathesis.openapi.from_url(f"{kept.address}/openapi.json", config=_config(kept.secret))
    for asked in REACHED:
        named = {"id": kept.thing(asked.thing)} if asked.thing else {}
        is_book = asked.body is BOOK
        case = schema[asked.path][asked.method].Case(
            path_parameters=named | dict(asked.parts),
            query=dict(asked.query),
            body=NOT_SET if is_book else asked.body,
            media_type=None if asked.body is NOT_SET or is_book else asked.media_type,
        )
        headers = {"Authorization": f"Bearer {kept.secret}"} | ({"Content-Type": asked.media_type} if is_book else {})
        sent: dict[str, Any] = {"data": BOOK.data} if is_book else {}
        answer = case.call(headers=headers, **sent)
        assert answer.status_code == asked.status, (asked, answer.text)
        case.validate_response(answer)


def _config(secret: str) -> schemathesis.Config:
    return schemathesis.Config.from_dict(
        {
            "headers": {"Authorization": f"Bearer {secret}"},
            "checks": NOT_ASKED,
            "phases": PHASES,
            "generation": {"max-examples": EXAMPLES, "deterministic": True},
            "operations": OPERATIONS,
        }
    )


def _failures(recorder: ScenarioRecorder) -> dict[str, str]:
    """What a check complains of, each once, with the call that shows it."""
    found = {}
    for case_id, checks in recorder.checks.items():
        for check in checks:
            if check.failure_info is not None:
                case, failure = recorder.cases[case_id].value, check.failure_info.failure
                told = f"{case.method} {case.path}: {check.name}: {failure.title}: {failure.message}"
                found[told[:300]] = f"{told}\n{case.as_curl_command()}"[:3000]
    return found


def _answers(recorder: ScenarioRecorder) -> Iterator[tuple[str, int]]:
    for case_id, interaction in recorder.interactions.items():
        if interaction.response is not None:
            case = recorder.cases[case_id].value
            yield f"{case.method} {case.path}", interaction.response.status_code


def _fill(store: Store, owner: str) -> dict[str, list[str]]:
    done = [_drawn(store, owner) for _ in range(24)]
    failed = store.rows.claim(books.queued(store, owner=owner).id)
    assert failed is not None
    store.rows.fail(failed, Failure("limit", "page 212 inflates past 1 GB", "Make its pictures smaller.", 212))
    cancelled = books.queued(store, owner=owner)
    store.rows.cancel(cancelled.id)
    waiting = [books.queued(store, owner=owner).id for _ in range(4)]
    titles = [store.titles.create(owner, NewTitle("Maud Kittering", name, "ternhaven-mono")) for name in "ABCD"]
    for title in titles:
        row = books.done(store, owner=owner)
        store.titles.submit(title.id, owner, NewSubmission(row.id, row.sha256, row.file_name, row.bytes))
    return {
        "inspections": [*done, *done, failed.id, cancelled.id, *waiting],
        "profiles": ["mole-press", "mole-press", "harbour-press", "ternhaven-mono"],
        "titles": [title.id for title in titles],
        "submissions": ["1"],
        "links": [store.author_links.make(title.id, owner, days=3)[0].id for title in titles],
        "problems": ["fault", "not-a-pdf"],
        "pages": ["1", "3"],
    }


def _drawn(store: Store, owner: str) -> str:
    """A finished inspection with a page's picture and its proof, as a worker leaves them."""
    row = books.done(store, owner=owner)
    drawn = io.BytesIO()
    Image.new("L", (60, 90), 128).save(drawn, "png")
    for page in (1, 2, 3):
        store.bytes.write(picture_key(row.id, page), drawn.getvalue())
    store.bytes.write(proof_key(row.id), BOOK.data)
    return row.id


def _bring_what_is_there(case: Case[Any], ids: dict[str, list[str]]) -> None:
    """Ids, a real PDF, a sound profile, in three calls of four, always the same; what is to be refused stays wrong."""
    chance = zlib.crc32(repr((case.path_parameters, case.query, case.headers)).encode("utf-8", "surrogatepass"))
    if chance % 4 == 0:
        return
    is_wrong = case.meta is not None and case.meta.generation.mode.is_negative
    for name, given in (case.path_parameters or {}).items():
        listed = re.search(rf"/([a-z-]+)/\{{{name}\}}", case.path)
        known = ids.get(listed[1], []) if listed else []
        if known and not AN_ID.fullmatch(str(given)) and (name == "id" or not is_wrong):
            case.path_parameters[name] = known[chance // 4 % len(known)]
    if is_wrong:
        return
    if case.media_type == "application/pdf":
        case.body = BOOK
        case.query = {"profile": "common-paperback"}
    elif case.media_type == "application/toml":
        case.body = MOLE.replace("mole-press", str(case.path_parameters.get("id")))
    elif isinstance(case.body, dict) and "file" in case.body:
        fields = {name: value for name, value in case.body.items() if name in {"profile", "title"}}
        case.body, case.query = {**fields, "file": BOOK}, {}
    for given in (case.body, case.query):
        if isinstance(given, dict) and isinstance(given.get("profile"), str):
            given["profile"] = "common-paperback"
