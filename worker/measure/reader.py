"""The whole reading: open the file, go through its pages, put the facts together."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf

from worker.measure import whereabouts
from worker.measure.document import document_facts
from worker.measure.gathered import Gathered
from worker.measure.layers import Layers
from worker.measure.limits import LimitReached, WorkLimits
from worker.measure.models import Document, File, Measurements, Unreadable
from worker.measure.packed import refuse_bombs
from worker.measure.page_reader import PageReader
from worker.measure.pagetree import PageNode, page_nodes
from worker.measure.sharing import Lost, Note, Twin, half_the_memory
from worker.measure.version import READER_VERSION

_CHUNK = 1 << 20
_WORTH_SHARING = 64
"""A book of fewer pages is read by one process: a second one would cost more than it saves."""
_FIRST_SHARE = 0.51
"""The twin reads less than half: it also has to hand over what it read."""

Progress = Callable[[int, int], None]
Tree = list[PageNode]


def read(path: Path, *, name: str, progress: Progress | None = None, share: bool = False) -> Measurements:
    """See ``worker.measure.measure``. With ``share`` a long book is read by two processes."""
    twin = None
    if share:
        with half_the_memory():
            twin = Twin(lambda note: _read_second_half(path, note))
            try:
                found = _read(path, name, progress, twin)
                if found.document.unreadable is None:  # or it may have been for want of memory
                    return found
            except (Lost, MemoryError):
                pass
            except LimitReached as crossed:
                if crossed.limit != "memory":
                    raise
            finally:
                twin.stop()
    return _read(path, name, progress, None)


def _read(path: Path, name: str, progress: Progress | None, twin: Twin | None) -> Measurements:
    file = _file_facts(path, name)
    try:
        pdf = _opened(path)
        tree = page_nodes(pdf)  # of a file that was mended: whether it has a catalogue is told only here
    except pikepdf.PasswordError:
        return _unreadable(file, "password", "it opens only with a password")
    except (pikepdf.PdfError, RuntimeError, ValueError) as error:
        refuse_bombs(path)
        return _unreadable(file, "damaged", str(error).rsplit(": ", 1)[-1][:200])
    with pdf:
        limits = WorkLimits.from_environment()
        if len(tree) > limits.pages:
            raise LimitReached("pages", f"the file has {len(tree):,} pages; this service reads {limits.pages:,}")
        if all(node.lost for node in tree):
            refuse_bombs(path)
            return _unreadable(file, "damaged", "it has no pages")
        gathered = _gather(pdf, tree, limits, progress or _nobody, twin)
        if len(gathered.crossed) == len(tree):
            raise gathered.crossed[0]
        return Measurements(
            reader=READER_VERSION,
            file=file,
            document=document_facts(
                pdf, tree, Layers(pdf.Root).names, acting=gathered.acting, repairs=gathered.repairs
            ),
            fonts=gathered.font_facts(),
            images=tuple(gathered.images),
            links=tuple(gathered.links),
            annotations=tuple(gathered.annotations),
            pages=tuple(gathered.pages),
        )


def _gather(pdf: pikepdf.Pdf, tree: Tree, limits: WorkLimits, progress: Progress, twin: Twin | None) -> Gathered:
    """Read all pages, or the first half of them and get the second from the twin."""
    mine = len(tree) if twin is None else _first_half(tree)
    reader = PageReader(pdf, limits)

    def tell(done: int) -> None:
        progress(done + (twin.done if twin else 0), len(tree))

    for number, node in enumerate(tree[:mine], 1):
        reader.read(node, number)
        tell(number)
    whereabouts.at(0)
    if twin is not None and mine < len(tree):
        reader.gathered.add(twin.result(lambda: tell(mine)))
        progress(len(tree), len(tree))
    return reader.gathered


def _first_half(tree: Tree) -> int:
    return len(tree) if len(tree) < _WORTH_SHARING else round(len(tree) * _FIRST_SHARE)


def _read_second_half(path: Path, note: Note) -> Gathered:
    """The twin's share."""
    with _opened(path) as pdf:
        limits = WorkLimits.from_environment()
        tree = page_nodes(pdf)
        reader = PageReader(pdf, limits)
        first = _first_half(tree) if len(tree) <= limits.pages else len(tree)
        for done, node in enumerate(tree[first:], 1):
            reader.read(node, first + done)
            note(done)
        reader.gathered.repairs += [str(warning) for warning in pdf.get_warnings()]
        return reader.gathered


def _opened(path: Path) -> pikepdf.Pdf:
    return pikepdf.open(path, suppress_warnings=True, inherit_page_attributes=False)


def _file_facts(path: Path, name: str) -> File:
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        while chunk := stream.read(_CHUNK):
            digest.update(chunk)
        size = stream.tell()
    return File(name=name, sha256=digest.hexdigest(), bytes=size)


def _unreadable(file: File, reason: Any, detail: str) -> Measurements:
    document = Document(pages=0, encrypted=reason == "password", unreadable=Unreadable(reason=reason, detail=detail))
    return Measurements(reader=READER_VERSION, file=file, document=document)


def _nobody(_: int, __: int) -> None:
    pass
