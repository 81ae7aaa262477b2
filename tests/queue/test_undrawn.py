"""A page that cannot be drawn is remembered as such; one that could not be drawn this time is tried again.

The book says in its page tree that it has a page fewer than it has (ISO 32000-1, 7.7.3.2: ``Count``): a reader that
walks the tree finds the last page, PDFium, which draws, believes the count.
"""

from __future__ import annotations

import threading
from typing import Any

import pypdfium2 as pdfium
import pytest

from tests.api import books
from tests.queue.workshop import Workshop
from worker import picturing
from worker.attempt import Bench
from worker.fence import Cancelled, FenceError, LimitCrossed, MeasuringFailed
from worker.limits import Limits
from worker.picturing import draw_once, draw_unasked, why_undrawn
from worker.store import Inspection, picture_key

LAST = 3
CURTAILED = books.book(LAST).replace(b"/Count 3", b"/Count 2")


@pytest.fixture
def bench(workshop: Workshop) -> Bench:
    return Bench(workshop.store, Limits(), threading.Event())


@pytest.fixture
def row(workshop: Workshop) -> Inspection:
    assert len(pdfium.PdfDocument(CURTAILED)) == LAST - 1
    return books.done(workshop.store, CURTAILED)


def test_what_the_renderer_does_not_find_is_remembered(bench: Bench, row: Inspection) -> None:
    with pytest.raises(MeasuringFailed):
        draw_once(bench, row.id, LAST)
    undrawn = why_undrawn(bench.store, row.id, LAST)
    assert undrawn is not None
    assert (undrawn.code, "no page 3 among the 2" in undrawn.message) == ("drawing", True)
    assert draw_once(bench, row.id, LAST - 1)
    assert why_undrawn(bench.store, row.id, LAST - 1) is None


def test_it_is_not_tried_again(bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(MeasuringFailed):
        draw_once(bench, row.id, LAST)
    monkeypatch.setattr(picturing, "draw_fenced", _never)
    assert draw_once(bench, row.id, LAST) is False


def test_unasked_it_is_left_out_and_not_remembered(bench: Bench, row: Inspection) -> None:
    draw_unasked(bench, row.id)
    assert [bench.store.bytes.size(picture_key(row.id, page)) is not None for page in (1, 2, 3)] == [True, True, False]
    assert why_undrawn(bench.store, row.id, LAST) is None


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (LimitCrossed("seconds", "the file asks for more than 60 seconds", 1), "limit"),
        (MeasuringFailed("Failed to load page", 1), "drawing"),
        (LimitCrossed("memory", "short of memory", 1, passes=True), None),
        (MeasuringFailed("No space left on device", 1, passes=True), None),
        (Cancelled("the worker ends"), None),
        (OSError(28, "No space left on device"), None),
    ],
)
def test_what_may_pass_is_tried_again(
    bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch, error: Exception, code: str | None
) -> None:
    def fails(*_: Any, **__: Any) -> None:
        raise error

    with monkeypatch.context() as patched:
        patched.setattr(picturing, "draw_fenced", fails)
        with pytest.raises(type(error)):
            draw_once(bench, row.id, 1)
    undrawn = why_undrawn(bench.store, row.id, 1)
    assert (undrawn and undrawn.code) == code
    if code is None:
        assert draw_once(bench, row.id, 1)
        assert bench.store.bytes.size(picture_key(row.id, 1))


def test_what_was_deleted_meanwhile_leaves_nothing(
    bench: Bench, row: Inspection, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: Any, **__: Any) -> None:
        bench.store.delete(row.id)
        raise MeasuringFailed("Failed to load page", 1)

    monkeypatch.setattr(picturing, "draw_fenced", fails)
    with pytest.raises(FenceError):
        draw_once(bench, row.id, 1)
    assert bench.store.bytes.inspections(untouched_for=-1) == []


def _never(*_: Any, **__: Any) -> None:
    raise AssertionError("it was tried again")
