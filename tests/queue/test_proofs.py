"""A proof is made once, by whoever is asked first; one that cannot be made is remembered as such."""

from __future__ import annotations

import io
import threading
from typing import Any

import pikepdf
import pytest

from tests.api import books
from tests.queue.workshop import Workshop
from worker import proving
from worker.attempt import Bench
from worker.fence import Cancelled, FenceError, LimitCrossed, MeasuringFailed, proof_fenced
from worker.limits import Limits
from worker.proving import prove_once, why_unproved
from worker.store import Inspection, Missing, file_key, proof_key


@pytest.fixture
def bench(workshop: Workshop) -> Bench:
    return Bench(workshop.store, Limits(), threading.Event())


@pytest.fixture
def row(workshop: Workshop) -> Inspection:
    return books.done(workshop.store, books.book(3, indent=0.1))


def test_it_is_made_and_kept(bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch) -> None:
    assert prove_once(bench, row.id)
    with pikepdf.open(io.BytesIO(bench.store.bytes.read(proof_key(row.id)))) as proof:
        assert len(proof.pages) > 3
        first = proof.pages[len(proof.pages) - 3].obj
        noted = {str(note.T).partition(". ")[2] for note in first.Annots}
    assert "Text stands too near the spine" in noted  # page 1 is a recto, its text 0.1 in from the left edge
    monkeypatch.setattr(proving, "proof_fenced", _never)
    assert prove_once(bench, row.id)


def test_whoever_asks_meanwhile_has_the_same_one(
    bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch
) -> None:
    again: list[bool] = []

    def asked_again(*_: Any, **__: Any) -> None:
        monkeypatch.setattr(proving, "proof_fenced", _never)
        again.append(prove_once(bench, row.id))
        raise Cancelled("the worker ends")

    monkeypatch.setattr(proving, "proof_fenced", asked_again)
    with pytest.raises(Cancelled):
        prove_once(bench, row.id)
    assert again == [False]
    monkeypatch.undo()
    assert prove_once(bench, row.id), "it is nobody's any more"


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (LimitCrossed("seconds", "the file asks for more than 60 seconds"), "limit"),
        (MeasuringFailed("no proof can be made of this file"), "drawing"),
        (MeasuringFailed("No space left on device", passes=True), None),
        (Cancelled("the worker ends"), None),
    ],
)
def test_what_may_pass_is_tried_again(
    bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch, error: FenceError, code: str | None
) -> None:
    def fails(*_: Any, **__: Any) -> None:
        raise error

    monkeypatch.setattr(proving, "proof_fenced", fails)
    with pytest.raises(type(error)):
        prove_once(bench, row.id)
    unproved = why_unproved(bench.store, row.id)
    assert (unproved and unproved.code) == code
    monkeypatch.undo()
    assert prove_once(bench, row.id) is (code is None)


def test_what_was_deleted_meanwhile_leaves_nothing(
    bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = proof_fenced

    def deleted(*given: Any, **more: Any) -> None:
        real(*given, **more)
        bench.store.delete(row.id)

    monkeypatch.setattr(proving, "proof_fenced", deleted)
    assert prove_once(bench, row.id) is False
    assert bench.store.bytes.inspections(untouched_for=-1) == []


def test_what_is_not_there_is_not_tried(bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch) -> None:
    waiting, pageless = books.queued(bench.store), books.done(bench.store, b"%PDF-1.7\nnothing more")
    monkeypatch.setattr(proving, "proof_fenced", _never)
    for inspection_id in (waiting.id, pageless.id, "ins_" + "a" * 26):
        assert prove_once(bench, inspection_id) is False
    bench.store.bytes.delete_all(row.id)
    with pytest.raises(Missing):
        bench.store.bytes.read(file_key(row.id))
    with pytest.raises(Missing):
        prove_once(bench, row.id)


def _never(*_: Any, **__: Any) -> None:
    raise AssertionError("it was tried again")
