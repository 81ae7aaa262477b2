"""The report with pictures is set once, by whoever is asked first; what cannot be pictured is left out for good.

The pages that it speaks of are drawn after it, those that can be.
"""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest

from tests.api import books
from tests.queue.workshop import Workshop
from worker import picturing
from worker.attempt import Bench
from worker.fence import Cancelled, FenceError, LimitCrossed, MeasuringFailed, Pictured, picture_fenced
from worker.limits import Limits
from worker.picturing import draw_once, draw_unasked, picture_once, why_undrawn
from worker.profiles import builtin_profiles
from worker.reporting import judge_again, kept_page
from worker.store import Inspection, picture_key, pictured_key

PICTURE = b"data:image/webp;base64,"


@pytest.fixture
def bench(workshop: Workshop) -> Bench:
    return Bench(workshop.store, Limits(), threading.Event())


@pytest.fixture
def row(workshop: Workshop) -> Inspection:
    """Its text stands 0.1 in from the left edge, which no printer of ours takes."""
    return books.done(workshop.store, books.book(3, indent=0.1))


def test_it_takes_the_place_of_the_one_without(bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch) -> None:
    assert PICTURE not in kept_page(bench.store, row)
    assert picture_once(bench, row.id)
    assert PICTURE in kept_page(bench.store, row)
    monkeypatch.setattr(picturing, "picture_fenced", _never)
    assert picture_once(bench, row.id), "it is made once"


def test_whoever_asks_meanwhile_has_the_same_one(
    bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch
) -> None:
    again: list[bool] = []

    def asked_again(*_: Any, **__: Any) -> Pictured:
        monkeypatch.setattr(picturing, "picture_fenced", _never)
        again.append(picture_once(bench, row.id))
        return Pictured({})

    monkeypatch.setattr(picturing, "picture_fenced", asked_again)
    assert picture_once(bench, row.id)
    assert again == [False]


@pytest.mark.parametrize(
    ("error", "final"),
    [
        (LimitCrossed("seconds", "the file asks for more than 30 seconds"), True),
        (MeasuringFailed("the reader broke off"), True),
        (MeasuringFailed("No space left on device", passes=True), False),
        (Cancelled("the worker ends"), False),
    ],
)
def test_what_may_pass_is_tried_again_and_what_does_not_costs_pictures_alone(
    bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch, error: FenceError, final: bool
) -> None:
    monkeypatch.setattr(picturing, "picture_fenced", lambda *_, **__: Pictured({}, error))
    if final:
        assert picture_once(bench, row.id)
    else:
        with pytest.raises(type(error)):
            picture_once(bench, row.id)
    assert (bench.store.bytes.size(pictured_key(row.id)) is not None) is final
    monkeypatch.undo()
    assert picture_once(bench, row.id)
    assert (PICTURE in kept_page(bench.store, row)) is not final


def test_judged_again_it_has_its_own(bench: Bench, row: Inspection) -> None:
    assert picture_once(bench, row.id)
    new, _ = judge_again(bench.store, row, builtin_profiles()["longmole-thick"])
    assert PICTURE not in kept_page(bench.store, new)
    assert picture_once(bench, new.id)
    assert bench.store.delete(row.id)
    page = kept_page(bench.store, new)
    assert PICTURE in page
    assert builtin_profiles()["longmole-thick"].name.encode() in page


def test_it_goes_with_the_inspection(bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch) -> None:
    real = picture_fenced

    def deleted(*given: Any, **more: Any) -> Pictured:
        made = real(*given, **more)
        bench.store.rows.delete(row.id)  # the row goes first, and what belongs to it after that
        return made

    monkeypatch.setattr(picturing, "picture_fenced", deleted)
    assert picture_once(bench, row.id) is False
    assert bench.store.bytes.inspections(untouched_for=-1) == []


def test_what_is_not_done_or_not_there_is_not_tried(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(picturing, "picture_fenced", _never)
    for inspection_id in (books.queued(bench.store).id, "ins_" + "a" * 26):
        assert picture_once(bench, inspection_id) is False


def test_its_pages_are_drawn_as_they_are_when_asked_for(bench: Bench, row: Inspection) -> None:
    """Byte for byte; one that is there already is left alone."""
    keys = [picture_key(row.id, page) for page in (1, 2, 3)]
    for page in (1, 2, 3):
        assert draw_once(bench, row.id, page)
    asked = [bench.store.bytes.read(key) for key in keys]
    bench.store.bytes.delete(keys[0])
    bench.store.bytes.delete(keys[2])
    bench.store.bytes.write(keys[1], b"as it was")
    draw_unasked(bench, row.id)
    assert [bench.store.bytes.read(key) for key in keys] == [asked[0], b"as it was", asked[2]]


def test_what_was_drawn_before_the_child_ended_is_kept(
    bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = Pictured({1: b"a page"}, MeasuringFailed("the reader broke off"))
    monkeypatch.setattr(picturing, "picture_fenced", lambda *_, **__: made)
    with pytest.raises(MeasuringFailed):
        draw_unasked(bench, row.id)
    assert bench.store.bytes.read(picture_key(row.id, 1)) == b"a page"
    assert bench.store.bytes.size(picture_key(row.id, 2)) is None
    assert why_undrawn(bench.store, row.id, 2) is None, "it has not been asked for"


def test_a_worker_sets_it_after_the_inspection(workshop: Workshop, sample_pdfs: Path) -> None:
    """A real broker, worker and book, whose faults stand in the README beside it: page 18 stands too near its foot."""
    workshop.start_broker()
    workshop.start_worker("worker.run")
    row = workshop.wait(workshop.upload(content=(sample_pdfs / "second-harbour.pdf").read_bytes()), state="done")
    assert kept_page(workshop.store, row).startswith(b"<!DOCTYPE html>")
    workshop.until(lambda: workshop.store.bytes.size(pictured_key(row.id)) is not None)
    page = kept_page(workshop.store, row)
    assert page.count(PICTURE) >= 5
    assert b'aria-label="Page 18, a picture of the page"' in page
    workshop.until(lambda: workshop.store.bytes.size(picture_key(row.id, 18)) is not None)


def _never(*_: Any, **__: Any) -> None:
    raise AssertionError("it was tried again")
