"""Some files of every kind, always the same ones; and whether the laws and the fence notice what they should."""

from __future__ import annotations

import io
import os
import resource
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from tests.fuzz.fence import examined, written_in
from tests.fuzz.oracle import Answer, Broken, check_facts, check_the_others, examine
from tests.fuzz.running import KINDS, Batch, run
from tests.fuzz.sound import PAGES, sound_objects, written
from worker.measure import measure
from worker.measure.models import Measurements

_FILES = 20
_SEED = 1


@pytest.mark.parametrize("kind", KINDS)
def test_no_law_is_broken(tmp_path: Path, kind: str) -> None:
    tally = run(Batch(kind, _SEED, _FILES), tmp_path)
    assert sum(tally.answers.values()) == _FILES
    assert {name: law.detail for name, law in tally.broken.items()} == {}
    assert tally.answers[kind, "measured"] > _FILES / 2, "most files are to be bad, and not so bad that none is read"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Measurements:
    return measure(written_in(tmp_path_factory.mktemp("sound"), written(sound_objects())))


def test_the_sound_book_is_sound(sound: Measurements) -> None:
    """qpdf finds nothing in it, and the reader finds something of every kind in it."""
    with pikepdf.open(io.BytesIO(written(sound_objects()))) as pdf:
        assert pdf.check_pdf_syntax() == []
    assert [page.unread for page in sound.pages] == [None] * len(PAGES)
    assert {font.kind for font in sound.fonts} == {"type1", "truetype", "cid-truetype", "cid-cff", "type3"}
    assert sound.images
    assert sound.links
    assert sound.annotations
    assert {"spot", "cmyk"} <= {colour for page in sound.pages for colour in page.colours}


def _with_page(facts: Measurements, number: int, **changed: Any) -> Measurements:
    pages = list(facts.pages)
    pages[number - 1] = pages[number - 1].model_copy(update=changed)
    return facts.model_copy(update={"pages": tuple(pages)})


WRONG: dict[str, Callable[[Measurements], Measurements]] = {
    "a figure is not finite": lambda facts: _with_page(facts, 1, smallest_type=float("nan")),
    "pages are not 1 to n": lambda facts: facts.model_copy(update={"pages": facts.pages[1:]}),
    "the trim box has no area": lambda facts: _with_page(facts, 2, trim=(0.0, 0.0, 0.0, 9.0)),
    "ink is not within the media": lambda facts: _with_page(facts, 1, ink=(0.0, 0.0, 9e3, 9.0)),
    "text is not within the ink": lambda facts: _with_page(facts, 1, text=(0.0, 0.0, 400.0, 600.0)),
    "blank and ink disagree": lambda facts: _with_page(facts, 3, blank=True),
    "margins and text disagree": lambda facts: _with_page(facts, 3, margins=None),
    "margins are not from the text": lambda facts: _with_page(facts, 1, margins=facts.pages[1].margins),
    "a page is unread: because": lambda facts: _with_page(facts, 1, unread="because"),
    "a fact is on no page": lambda facts: facts.model_copy(
        update={"links": (facts.links[0].model_copy(update={"page": 4}),)}
    ),
}


@pytest.mark.parametrize("law", WRONG)
def test_facts_that_cannot_be_are_noticed(sound: Measurements, law: str) -> None:
    check_facts(sound)
    with pytest.raises(Broken) as broken:
        check_facts(WRONG[law](sound))
    assert broken.value.law == law


def test_a_page_that_changes_another_is_noticed(sound: Measurements) -> None:
    changed = _with_page(sound, 2, most_ink=1.0)
    check_the_others(changed, sound, 2)
    with pytest.raises(Broken, match="a spoilt page changes another"):
        check_the_others(changed, sound, 3)
    with pytest.raises(Broken, match="a spoilt page changes links elsewhere"):
        check_the_others(sound.model_copy(update={"links": ()}), sound, 3)


def test_an_error_that_escapes_is_told_apart_by_where_it_came_from(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from worker.measure import reader

    def fails(*_: object, **__: object) -> None:
        raise IndexError("off the end")

    monkeypatch.setattr(reader, "document_facts", fails)
    path = written_in(tmp_path, written(sound_objects()))
    ended = examined(lambda: examine(path))
    assert ended.answer is None
    assert ended.law == "reading: IndexError in reader.py:_read"
    assert "off the end" in ended.detail


def _by(number: signal.Signals) -> Answer:
    os.kill(os.getpid(), number)
    return Answer("measured")


def _takes_all_memory() -> Answer:
    soft, _ = resource.getrlimit(resource.RLIMIT_AS)
    return Answer("measured", str(len(bytearray(soft))))


ENDS: dict[str, tuple[Callable[[], Answer], Answer | None, str]] = {
    "an answer": (lambda: Answer("measured", pages=3), Answer("measured", pages=3), ""),
    "a crash of a library": (lambda: _by(signal.SIGSEGV), None, "crash: SIGSEGV"),
    "an end that says nothing": (lambda: os._exit(0), None, "crash: status 0"),
    "the limit of seconds": (lambda: _by(signal.SIGXCPU), Answer("limit", "seconds"), ""),
}


@pytest.mark.parametrize("end", ENDS)
def test_however_a_process_ends_it_is_known(end: str) -> None:
    examine_it, answer, law = ENDS[end]
    ended = examined(examine_it)
    assert (ended.answer, ended.law) == (answer, law)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="elsewhere the system keeps no limit of memory")
def test_a_process_that_takes_all_memory_meets_the_limit() -> None:
    assert examined(_takes_all_memory).answer == Answer("limit", "memory")
