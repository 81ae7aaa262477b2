"""The README's receiver takes what the service sends, and nothing else."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.callbacks.receiver import receiving
from tests.store.conftest import a_store, new
from worker.callbacks.address import Allowed
from worker.callbacks.courier import Courier
from worker.callbacks.sending import Sender
from worker.callbacks.signing import callback_secret, key_mark
from worker.store import Beside, asked_for

README = Path(__file__).resolve().parents[2] / "README.md"
KEY = "k" * 64
SECRET = callback_secret(KEY, "local")

Receive = Callable[[str, dict[str, str], bytes], int]
Call = tuple[dict[str, str], bytes]


@pytest.fixture
def receive() -> Receive:
    """The function, as it stands there."""
    (example,) = [
        code for code in re.findall(r"```python\n(.*?)```", README.read_text(), re.S) if "standardwebhooks" in code
    ]
    names: dict[str, Receive] = {}
    exec(compile(example, str(README), "exec"), names)  # noqa: S102 - our own README
    return names["receive"]


@pytest.fixture
def call(tmp_path: Path) -> Call:
    """A call as it arrives, its headers' names in lower case."""
    store = a_store(f"sqlite:///{tmp_path}/rows.sqlite3", tmp_path)
    with receiving() as receiver:
        wished = new()
        row = store.rows.create(
            wished,
            Beside(call=asked_for(wished.id, owner="local", signer="local", key_mark=key_mark(KEY), url=receiver.url)),
        )
        store.rows.cancel(row.id)
        sender = Sender(Allowed.of("SETTING", "127.0.0.1"))
        assert Courier(store, KEY, (5,), sender, threading.Event()).make_next()
        (came,) = receiver.came
    store.close()
    return {name.lower(): value for name, value in came.headers.items()}, came.body


def test_a_call_is_taken_once(receive: Receive, call: Call, capsys: pytest.CaptureFixture[str]) -> None:
    headers, body = call
    assert receive(SECRET, headers, body) == 204
    assert receive(SECRET, headers, body) == 204  # repeated: taken, and nothing done again
    assert re.fullmatch(r"inspection\.cancelled /v1/inspections/ins_\w+\n", capsys.readouterr().out)


WRONG: dict[str, Callable[[Call], Call]] = {
    "altered": lambda call: (call[0], call[1].replace(b"cancelled", b"done")),
    "replayed late": lambda call: (call[0] | {"webhook-timestamp": "1764000000"}, call[1]),
    "under another id": lambda call: (call[0] | {"webhook-id": "dlv_other"}, call[1]),
    "signed by nobody": lambda call: (call[0] | {"webhook-signature": "v1,AAAA"}, call[1]),
    "signed in no way at all": lambda call: (call[0] | {"webhook-signature": "nonsense"}, call[1]),
    "without headers": lambda call: ({}, call[1]),
    "not text": lambda call: (call[0], b"\xff\xfe"),
}


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG.keys())
def test_a_false_call_is_refused(
    receive: Receive, call: Call, capsys: pytest.CaptureFixture[str], wrong: Callable[[Call], Call]
) -> None:
    assert receive(SECRET, *wrong(call)) == 400
    assert capsys.readouterr().out == ""
