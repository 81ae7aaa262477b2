"""Measuring and drawing behind a fence: a PDF is hostile, so a child process with limits of its own reads it.

Every way in which the child can end has an answer here: a result, a limit that was crossed (the file's doing, and said
so), a cancellation, or a fault of ours. A limit is named only where it is known to be the reason: a library that breaks
off without a word has broken off.
"""

from __future__ import annotations

import shutil
import signal
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from worker import child
from worker.confine import LIMIT_STATUS
from worker.limits import Limits, show_bytes

if TYPE_CHECKING:  # the fence stands before what it brings is imported: see ``meanwhile``
    from worker.proof import Order
    from worker.reading import Reading
    from worker.report.drawing import Drawing
    from worker.report.underlay import PictureOrder

__all__ = [
    "Cancelled",
    "FenceError",
    "LimitCrossed",
    "Limits",
    "MeasuringFailed",
    "Pictured",
    "draw_fenced",
    "picture_fenced",
    "proof_fenced",
    "read_fenced",
]

READ = ("worker.reading",)
DRAW = ("worker.report.pictures",)
PICTURE = ("worker.report.underlays",)
PROOF = ("worker.proof",)

PICTURING_SECONDS = 30
"""Many pages at once take a few seconds; a report is complete without its pictures, and does not wait for longer."""
MOST_CHILDREN = 3
"""A file of which so many pages end the child that draws them will have more of that kind."""

OnProgress = Callable[[int, int], None]

_OUT_OF_MEMORY = ("std::bad_alloc", "memory allocation of", "out of memory", "Out of memory", "Cannot allocate memory")
"""What a library says when an allocation fails, before it ends the process: in C++ (for want of a handler),
Rust and C. One that says nothing is not known to have been short of memory."""

_FROM_OUTSIDE = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
"""What ends a child for no doing of the file's: a machine short of memory, somebody who stops it."""

_OF = {"seconds": " of work", "memory": " of memory"}


class FenceError(Exception):
    """There is no result; the message is one line for people. ``passes``: the same file may fare better next time."""

    passes = False


class LimitCrossed(FenceError):
    """The file asks for more than this service gives: ``limit`` is its name, ``page`` where it happened, if known."""

    def __init__(self, limit: str, message: str, page: int | None = None, *, passes: bool = False) -> None:
        super().__init__(message)
        self.limit = limit
        self.page = page
        self.passes = passes


class Cancelled(FenceError):
    """Nobody wants the result any more."""

    passes = True


class MeasuringFailed(FenceError):
    """A fault of ours; ``page`` is where it happened, if known."""

    def __init__(self, message: str, page: int | None = None, *, passes: bool = False) -> None:
        super().__init__(message)
        self.page = page
        self.passes = passes


def read_fenced(
    path: Path,
    *,
    name: str,
    limits: Limits,
    on_progress: OnProgress | None = None,
    cancelled: Callable[[], bool] | None = None,
    meanwhile: Callable[[], object] | None = None,
    module: Sequence[str] = READ,
) -> Reading:
    """Read the file at ``path``, which goes by ``name``, in a child process.

    ``on_progress(done, total)`` counts pages; ``cancelled`` is asked a few times a second; ``meanwhile`` is called
    once, as soon as the child is at work. Raises :class:`LimitCrossed`, :class:`Cancelled` or :class:`MeasuringFailed`.
    """
    place = _Place(on_progress)
    with child.empty_folder() as folder:
        command = [*module, str(path.resolve()), str(folder)]
        ended = child.run(
            command, folder=folder, limits=limits, heard=place.hear, cancelled=cancelled, meanwhile=meanwhile
        )
        _refuse(ended, _noted_in(folder, place.page), limits, full=_is_full(folder))
        reading = _left_in(folder)
    # The name never goes near the child: it is the caller's text, of any length and any characters.
    return reading.named(name)


def draw_fenced(
    path: Path,
    page: int,
    *,
    drawing: Drawing,
    out: Path,
    limits: Limits,
    cancelled: Callable[[], bool] | None = None,
    module: Sequence[str] = DRAW,
) -> None:
    """Draw ``page`` (from 1) of the file at ``path`` as a PNG at ``out``, in a child process.

    Raises :class:`LimitCrossed`, :class:`Cancelled` or :class:`MeasuringFailed`.
    """
    with child.empty_folder() as folder:
        picture, request = folder / "page.png", folder / "request.json"
        request.write_text(drawing.model_dump_json(), encoding="utf-8")
        command = [*module, str(path.resolve()), str(page), str(picture), "--request", str(request)]
        ended = child.run(command, folder=folder, limits=limits, cancelled=cancelled)
        _refuse(ended, page, limits, full=_is_full(folder))
        if not picture.is_file():
            raise MeasuringFailed("the child drew nothing", page)
        shutil.move(picture, out)


@dataclass(frozen=True)
class Pictured:
    """The pictures that were ordered, by page: those that there are. ``trouble`` is what ended it early."""

    pictures: Mapping[int, bytes]
    trouble: FenceError | None = None


def picture_fenced(
    path: Path,
    order: PictureOrder,
    *,
    limits: Limits,
    on_progress: OnProgress | None = None,
    cancelled: Callable[[], bool] | None = None,
    module: Sequence[str] = PICTURE,
) -> Pictured:
    """Draw the pages of ``order`` in one child process. Whatever ends it, the pictures made until then are there.

    A page that ends its child costs itself: another child has those after it, so often at most.
    """
    limits = replace(limits, seconds=min(limits.seconds, PICTURING_SECONDS))
    pictures: dict[int, bytes] = {}
    trouble: FenceError | None = None
    left = order.pages
    for _ in range(MOST_CHILDREN):
        if not left:
            break
        place = _Place(on_progress)
        asked = order.model_copy(update={"pages": left})
        made, trouble = _pictured(path, asked, place, limits=limits, cancelled=cancelled, module=module)
        pictures |= made
        if trouble is None or trouble.passes or place.page is None or getattr(trouble, "limit", "") == "seconds":
            break
        left = left[place.page :]
    return Pictured(pictures, trouble)


def _pictured(
    path: Path,
    order: PictureOrder,
    place: _Place,
    *,
    limits: Limits,
    cancelled: Callable[[], bool] | None,
    module: Sequence[str],
) -> tuple[dict[int, bytes], FenceError | None]:
    """What one child draws, and what ended it early. ``place`` then has the page, counted in the order."""
    with child.empty_folder() as folder:
        request = folder / "request.json"
        request.write_text(order.model_dump_json(), encoding="utf-8")
        command = [*module, str(path.resolve()), str(folder), "--request", str(request)]
        ended = child.run(command, folder=folder, limits=limits, heard=place.hear, cancelled=cancelled)
        pictures = dict(_pictures_in(folder, order))
    try:
        _refuse(ended, None, limits, full=False)
    except FenceError as error:
        return pictures, error
    return pictures, None


def proof_fenced(
    path: Path,
    order: Order,
    *,
    out: Path,
    limits: Limits,
    cancelled: Callable[[], bool] | None = None,
    module: Sequence[str] = PROOF,
) -> None:
    """Make the proof of the file at ``path`` as a PDF at ``out``, in a child process.

    It holds all that the file holds, so it may be larger by what any child may write.
    Raises :class:`LimitCrossed`, :class:`Cancelled` or :class:`MeasuringFailed`.
    """
    largest = path.stat().st_size + child.LARGEST_RESULT
    with child.empty_folder() as folder:
        proof, request = folder / "proof.pdf", folder / "request.json"
        request.write_text(order.model_dump_json(), encoding="utf-8")
        command = [*module, str(path.resolve()), str(proof), "--request", str(request)]
        ended = child.run(command, folder=folder, limits=limits, cancelled=cancelled, largest=largest)
        _refuse(ended, None, limits, full=False)
        if not proof.is_file():
            raise MeasuringFailed("the child made no proof")
        shutil.move(proof, out)


class _Place:
    """Where in the file the child is, by what it last said."""

    def __init__(self, on_progress: OnProgress | None) -> None:
        self._on_progress = on_progress
        self.page: int | None = None

    def hear(self, said: dict[str, Any]) -> None:
        done, total = said.get("done"), said.get("total")
        if not isinstance(done, int) or not isinstance(total, int):
            return
        self.page = done + 1 if 0 <= done < total else None
        if self._on_progress is not None:
            self._on_progress(done, total)


def _refuse(ended: child.Ended, page: int | None, limits: Limits, *, full: bool) -> None:
    """Raise what the child's end means, unless it ended well. ``page`` is the one that it was at, if known."""
    if ended.stopped == "cancelled":
        raise Cancelled("cancelled")
    if ended.stopped == "seconds" or _took_too_long(ended, limits):
        raise LimitCrossed("seconds", _asks_for("seconds", page, limits), page)
    if ended.stopped == "noise":
        raise MeasuringFailed("the reader was not understood", page)
    if ended.status == LIMIT_STATUS:
        raise _limit_said(ended.last, page, limits)
    if full:
        raise LimitCrossed(
            "measurements", f"what there is to say of it passes {show_bytes(child.LARGEST_RESULT)}", page
        )
    if ended.killed_for_memory and -ended.status == signal.SIGKILL:
        raise LimitCrossed("memory", f"this machine ran short of memory{_at(page)}", page, passes=True)
    if ended.status < 0 and any(words in ended.complaint for words in _OUT_OF_MEMORY):
        raise LimitCrossed("memory", _asks_for("memory", page, limits), page)
    if ended.status:
        passes = -ended.status in _FROM_OUTSIDE or ended.last.get("passes") is True
        raise MeasuringFailed(_fault(ended, page), page, passes=passes)


def _took_too_long(ended: child.Ended, limits: Limits) -> bool:
    """Whether the system ended it for the processor's time: with a word first, or past the grace without one."""
    spent = ended.processor_seconds >= limits.seconds
    return -ended.status == signal.SIGXCPU or (-ended.status == signal.SIGKILL and spent)


def _asks_for(limit: str, page: int | None, limits: Limits) -> str:
    asked = f"{limits.in_words(limit)}{_OF[limit]}"
    return f"the file asks for more than {asked}, the most that this service gives{_at(page)}"


def _at(page: int | None) -> str:
    return "" if page is None else f" (it was at page {page})"


def _limit_said(said: dict[str, Any], at: int | None, limits: Limits) -> LimitCrossed:
    """The limit that the child itself named; what it says is as hostile as the file."""
    limit, message, page = said.get("limit"), said.get("message"), said.get("page")
    page = page if isinstance(page, int) else at
    if limit == "memory" or not isinstance(limit, str) or not isinstance(message, str):
        return LimitCrossed("memory", _asks_for("memory", page, limits), page)
    return LimitCrossed(_one_line(limit, 40), _one_line(message), page)


def _fault(ended: child.Ended, page: int | None) -> str:
    """What went wrong, in the child's own words where it had any."""
    fault = ended.last.get("fault")
    if isinstance(fault, str) and fault:
        return _one_line(fault)
    if -ended.status in _FROM_OUTSIDE:
        return f"the reader was stopped from outside{_at(page)}"
    why = _signal(-ended.status) if ended.status < 0 else f"status {ended.status}"
    return f"the reader broke off{'' if page is None else f' on page {page}'} ({why})"


def _signal(number: int) -> str:
    """Its name and what it means: ``SIGSEGV, segmentation fault``."""
    meaning = signal.strsignal(number)
    name = signal.Signals(number).name if number in signal.valid_signals() else f"signal {number}"
    return f"{name}, {meaning.lower()}" if meaning else name


def _one_line(text: str, most: int = 300) -> str:
    line = " ".join(text.split())
    return line if len(line) <= most else f"{line[: most - 1]}…"


def _noted_in(folder: Path, said: int | None) -> int | None:
    """The page that the reader was at, by its own note; where it left none, by the progress that it ``said``."""
    from worker.measure.whereabouts import last_noted  # noqa: PLC0415
    from worker.reading import PAGE  # noqa: PLC0415

    try:
        return last_noted(folder / PAGE)
    except FileNotFoundError:
        return said


def _is_full(folder: Path) -> bool:
    """Whether the child wrote until the limit on a file's size stopped it: under the final name or a temporary one."""
    return any(path.stat().st_size >= child.LARGEST_RESULT for path in folder.iterdir() if path.is_file())


def _pictures_in(folder: Path, order: PictureOrder) -> Iterator[tuple[int, bytes]]:
    """What the child left of what it was asked for; nothing else that it may have left."""
    from worker.report.underlay import LARGEST_DRAWING, file_of, is_picture  # noqa: PLC0415

    for wanted in order.pages:
        path = folder / file_of(wanted)
        if path.is_file() and not path.is_symlink() and path.stat().st_size <= LARGEST_DRAWING:
            picture = path.read_bytes()
            if is_picture(picture, wanted):
                yield wanted.page, picture


def _left_in(folder: Path) -> Reading:
    from worker.reading import found_in  # noqa: PLC0415

    try:
        return found_in(folder)
    except FileNotFoundError:
        raise MeasuringFailed("the reader left no measurements") from None
    except ValueError:
        raise MeasuringFailed("the reader left measurements that are none") from None
