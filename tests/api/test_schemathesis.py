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
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
import schemathesis
from PIL import Image
from schemathesis import Case, CheckContext, HookContext, Response, SerializationContext
from schemathesis.engine import events, from_schema
from schemathesis.engine.recorder import ScenarioRecorder
from schemathesis.transport.serialization import Binary

from tests.api import books
from tests.api.server import serving
from tests.api.test_own_profiles import MOLE
from worker.settings import Settings
from worker.store import Failure, NewTitle, Store, open_store, picture_key, proof_key

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
REACHED = [
    ("POST /v1/inspections", 202),
    ("GET /v1/inspections", 200),
    (f"GET {ONE}", 200),
    (f"GET {ONE}/report", 200),
    (f"GET {ONE}/report.html", 200),
    (f"GET {ONE}/report.json", 200),
    (f"GET {ONE}/report", 409),
    (f"GET {ONE}/measurements", 200),
    (f"GET {ONE}/pages/{{page}}.png", 200),
    (f"GET {ONE}/proof.pdf", 200),
    (f"POST {ONE}/judgements", 201),
    (f"POST {ONE}/cancellation", 200),
    (f"DELETE {ONE}", 204),
    ("GET /v1/profiles/{id}", 200),
    ("PUT /v1/profiles/{id}", 201),
    ("PUT /v1/profiles/{id}", 422),
    ("DELETE /v1/profiles/{id}", 204),
]
"""Answers without which the calls have not been what they are meant to be."""
MOST_MISSED = 4
"""Of them, since which calls are made up differs from run to run."""
BOOK = Binary(books.book())
AN_ID = re.compile(r"[a-z]{3}_[a-z2-7]{26}")


@dataclass(frozen=True)
class Kept:
    """A service, and the ids of what it keeps, by the list that they stand in."""

    address: str
    secret: str
    ids: dict[str, list[str]]


@pytest.fixture
def kept(tmp_path: Any) -> Iterator[Kept]:
    """A member's token, and a dozen inspections, done and otherwise."""
    store = open_store(Settings.from_environment(tmp_path, {}))
    token, secret = store.tokens.make("the reading room")
    with serving(tmp_path, PRESSWORTHY_ASKS_FOR_TOKEN="yes", PRESSWORTHY_MAX_REQUESTS="1000000") as web:
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
    assert len([call for call in REACHED if not answered[call]]) <= MOST_MISSED, answered


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
    return {
        "inspections": [*done, *done, failed.id, cancelled.id, *waiting],
        "profiles": ["mole-press", "mole-press", "harbour-press", "ternhaven-mono"],
        "titles": [title.id for title in titles],
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
