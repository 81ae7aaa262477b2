"""Batches of files of one kind, each from a seed of its own, and what is kept of how they were answered."""

from __future__ import annotations

import gc
import hashlib
import re
import tempfile
import warnings
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache, partial
from pathlib import Path
from random import Random
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.fuzz import files, mutation
from tests.fuzz.fence import Ended, examined, own_memory, written_in
from tests.fuzz.oracle import Answer, examine
from tests.fuzz.sound import sound_objects, written
from worker.measure import measure
from worker.measure.models import Measurements

KINDS = ("content", "objects", "page", "books", "book-page")
SLOW_SECONDS = 10.0
_MOST_SAVED = 3
_MOST_SLOW = 5

Examine = Callable[[Path], Answer]
Take = Callable[[bytes, Examine], None]


@dataclass(frozen=True)
class Batch:
    """``count`` files of one of ``KINDS``, the same whenever they are made by the same seed."""

    kind: str
    seed: int
    count: int


@dataclass
class Law:
    """One law that was broken: how often, how it was first, and the files that were saved."""

    count: int = 0
    detail: str = ""
    saved: list[str] = field(default_factory=list)


@dataclass
class Tally:
    """What came of a number of files; ``answers`` by kind of file and of answer."""

    answers: Counter[tuple[str, str]] = field(default_factory=Counter)
    limits: Counter[str] = field(default_factory=Counter)
    pages: int = 0
    unread: int = 0
    broken: dict[str, Law] = field(default_factory=dict)
    slowest: list[tuple[float, str]] = field(default_factory=list)
    memory: int = 0
    own_memory: int = 0

    def add(self, other: Tally) -> None:
        """The same of other files."""
        self.answers += other.answers
        self.limits += other.limits
        self.pages += other.pages
        self.unread += other.unread
        self.slowest = sorted(self.slowest + other.slowest, reverse=True)[:_MOST_SLOW]
        self.memory, self.own_memory = max(self.memory, other.memory), max(self.own_memory, other.own_memory)
        for name, law in other.broken.items():
            known = self.broken.setdefault(name, Law(detail=law.detail))
            known.count += law.count
            known.saved = (known.saved + law.saved)[:_MOST_SAVED]

    def note(self, kind: str, name: str, ended: Ended) -> None:
        """How one file was answered."""
        answer = ended.answer
        self.answers[kind, answer.kind if answer else "broken"] += 1
        if answer is not None:
            self.pages, self.unread = self.pages + answer.pages, self.unread + answer.unread
            self.limits[answer.detail] += answer.kind == "limit"
        self.memory = max(self.memory, ended.memory)
        self.slowest = sorted([*self.slowest, (ended.seconds, name)], reverse=True)[:_MOST_SLOW]


def run(batch: Batch, keep_in: Path) -> Tally:
    """Make the files of a batch and examine each in a process of its own; those that break a law are kept."""
    tally = Tally()
    _warm_up()
    with tempfile.TemporaryDirectory(prefix="pressworthy-fuzz-") as folder:

        def take(data: bytes, how: Examine) -> None:
            name = f"{batch.kind}-{batch.seed}-{sum(tally.answers.values())}"
            ended = examined(partial(how, written_in(Path(folder), data)))
            tally.note(batch.kind, name, ended)
            _keep(tally, ended, name, data, keep_in)

        _MAKERS[batch.kind](batch, take)
    tally.own_memory = own_memory()
    return tally


def _keep(tally: Tally, ended: Ended, name: str, data: bytes, folder: Path) -> None:
    if ended.law:
        law = tally.broken.setdefault(ended.law, Law(detail=ended.detail))
        law.count += 1
        if len(law.saved) < _MOST_SAVED:
            law.saved.append(_saved(folder / f"{_plain(ended.law)}-{name}.pdf", data))
    elif ended.seconds > SLOW_SECONDS:
        _saved(folder / f"slow-{name}.pdf", data)


def _saved(path: Path, data: bytes) -> str:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    return path.name


def _plain(law: str) -> str:
    return re.sub(r"[^A-Za-z0-9_.]+", "-", law)[:80].strip("-")


@cache
def _warm_up() -> None:
    """Load what is loaded when a file is first read, once and not in every process that is forked from this one."""
    with tempfile.TemporaryDirectory(prefix="pressworthy-fuzz-") as folder:
        examine(written_in(Path(folder), written(sound_objects())))
    gc.collect()
    gc.freeze()


@cache
def _measured(digest: str, data: bytes) -> Measurements:
    """What a sound book measures; ``digest`` is what it is known by."""
    with tempfile.TemporaryDirectory(prefix="pressworthy-fuzz-") as folder:
        return measure(written_in(Path(folder), data))


def _but_one_page(book: bytes, page: int) -> Examine:
    base = _measured(hashlib.sha256(book).hexdigest(), book)
    return partial(examine, base=base, spoilt_page=page)


def _by_hypothesis(strategy: Any, batch: Batch, take: Callable[[Any], None]) -> None:
    warnings.simplefilter("ignore")
    bounds = settings(
        max_examples=batch.count,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    # The library gives no type to what it makes of a function that takes just anything.
    seed(batch.seed)(bounds(given(strategy)(take)))()  # type: ignore[no-untyped-call]


def _make_content(batch: Batch, take: Take) -> None:
    _by_hypothesis(files.drawn_files(), batch, lambda data: take(data, examine))


def _make_objects(batch: Batch, take: Take) -> None:
    _by_hypothesis(files.spoilt_files(), batch, lambda data: take(data, examine))


def _make_page(batch: Batch, take: Take) -> None:
    book = written(sound_objects())
    _by_hypothesis(files.spoilt_pages(), batch, lambda made: take(made[0], _but_one_page(book, made[1])))


def _make_books(batch: Batch, take: Take) -> None:
    random = Random(batch.seed)
    for _ in range(batch.count):
        take(mutation.mutated_book(random), examine)


def _make_book_page(batch: Batch, take: Take) -> None:
    random = Random(batch.seed)
    for _ in range(batch.count):
        book, data, page = mutation.book_with_a_spoilt_page(random)
        take(data, _but_one_page(book, page))


_MAKERS: dict[str, Callable[[Batch, Take], None]] = dict(
    zip(KINDS, (_make_content, _make_objects, _make_page, _make_books, _make_book_page), strict=True)
)
