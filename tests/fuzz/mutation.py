"""Real books with a few things changed in them: outside in the bytes, within their streams, in what refers to what."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from random import Random

import pikepdf

from tests.corpora import DOCS
from tests.fuzz.sound import sound_objects, written

SAMPLES = Path(__file__).resolve().parents[2] / "sample_pdfs"
_DEBIAN = (
    "texlive-doc/latex/polyglossia/example-thai.pdf",
    "texlive-doc/latex/polyglossia/example-japanese.pdf",
    "texlive-doc/latex/seminar/semsamp2.pdf",
    "texlive-doc/dvipdfm/transistor.pdf",
    "texlive-doc/pdftex/samplepdftex/tmp.pdf",
    "texlive-doc/pdftex/tests/06-pkmap/prepatch.pdf",
    "lmodern/lm-info.pdf",
    "r-doc-pdf/manual/R-FAQ.pdf",
)
_PAGES = 4
_MOST_BYTES = 400_000
_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
_FIGURES = (
    b"0",
    b"-1",
    b"1",
    b"65535",
    b"65536",
    b"2147483647",
    b"-2147483648",
    b"9" * 25,
    b"1e9",
    b"0.00001",
    b"NaN",
    b".",
    b"",
)
_OBJECTS: tuple[object, ...] = (
    True, 0, -1, 2**31, 2**40, 1e9, "", "text", [], [[]], [0, 0, 0, 0],
    pikepdf.Name("/A"), pikepdf.Name("/DeviceN"), pikepdf.Name("/Identity-V"),
)  # fmt: skip

Change = Callable[[bytes, Random], bytes]


@cache
def books() -> tuple[bytes, ...]:
    """A few pages each of the sample books, of Debian's documents where they are installed, and the sound book."""
    paths = [*sorted(SAMPLES.glob("*.pdf")), *(DOCS / name for name in _DEBIAN)]
    slices = [part for path in paths if path.exists() for part in _slices(path)]
    with pikepdf.open(io.BytesIO(written(sound_objects()))) as pdf:
        slices.append(_saved(pdf))
    return tuple(part for part in slices if len(part) <= _MOST_BYTES)


def _slices(path: Path) -> Iterator[bytes]:
    """Its first pages with objects in plain sight, and some from its middle in object streams."""
    with pikepdf.open(path) as pdf:
        count = len(pdf.pages)
        for first, mode in ((0, "disable"), (count // 2, "generate")):
            few = pikepdf.new()
            few.add_pages_from(pdf, range(first, min(count, first + _PAGES)))
            yield _saved(few, mode)
            if count <= _PAGES:
                return


def _saved(pdf: pikepdf.Pdf, mode: str = "preserve") -> bytes:
    out = io.BytesIO()
    pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode[mode], static_id=True, fix_metadata_version=False)
    return out.getvalue()


def mutated_book(random: Random) -> bytes:
    """One of the books, changed in one way."""
    book = random.choice(books())
    change = random.choice(
        (changed_bytes, changed_stream, changed_stream, changed_objects, changed_objects, changed_font)
    )
    try:
        return change(book, random)
    except (pikepdf.PdfError, RuntimeError, ValueError, TypeError):  # of the library that writes what was changed
        return changed_bytes(book, random)


def changed_bytes(data: bytes, random: Random) -> bytes:
    """Bytes turned, ranges lost, doubled or exchanged, figures replaced, or the end cut off."""
    for _ in range(random.randint(1, 4)):
        data = random.choice((_flipped, _cut, _doubled, _lost, _exchanged, _figured, _figured))(data, random)
    return data


def _range(data: bytes, random: Random) -> tuple[int, int]:
    start = random.randint(0, len(data))
    return start, min(len(data), start + random.choice((1, 4, 20, 300, 4000)))


def _flipped(data: bytes, random: Random) -> bytes:
    turned = bytearray(data)
    for _ in range(random.choice((1, 1, 3, 20))):
        if turned:
            turned[random.randrange(len(turned))] ^= 1 << random.randrange(8)
    return bytes(turned)


def _cut(data: bytes, random: Random) -> bytes:
    return data[: random.randint(0, len(data))] if not random.randrange(4) else data


def _doubled(data: bytes, random: Random) -> bytes:
    start, end = _range(data, random)
    return data[:end] + data[start:end] * random.choice((1, 1, 2, 30)) + data[end:]


def _lost(data: bytes, random: Random) -> bytes:
    start, end = _range(data, random)
    return data[:start] + data[end:]


def _exchanged(data: bytes, random: Random) -> bytes:
    (a, b), (c, d) = sorted((_range(data, random), _range(data, random)))
    return data if c < b else data[:a] + data[c:d] + data[b:c] + data[a:b] + data[d:]


def _figured(data: bytes, random: Random) -> bytes:
    found = _NUMBER.search(data, random.randint(0, len(data)))
    return data if found is None else data[: found.start()] + random.choice(_FIGURES) + data[found.end() :]


def changed_stream(data: bytes, random: Random) -> bytes:
    """What one of the streams holds, changed once it is inflated, and deflated again."""
    return _with_streams(data, random, lambda stream: True)


def changed_font(data: bytes, random: Random) -> bytes:
    """A font program, or a map of characters."""
    return _with_streams(data, random, _is_of_a_font)


def _is_of_a_font(stream: pikepdf.Stream) -> bool:
    data = bytes(stream.read_bytes()[:4000])
    return (
        data[:4] in (b"\0\1\0\0", b"OTTO", b"true", b"%!PS", b"\1\0\4\1", b"\1\0\4\2", b"\1\0\4\3")
        or b"begincmap" in data
    )


def _with_streams(data: bytes, random: Random, wanted: Callable[[pikepdf.Stream], bool]) -> bytes:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        streams = [
            each for each in pdf.objects if isinstance(each, pikepdf.Stream) and _can_be_read(each) and wanted(each)
        ]
        for stream in random.sample(streams, min(len(streams), random.choice((1, 1, 2, 5)))):
            stream.write(changed_bytes(bytes(stream.read_bytes()), random))
        return _saved(pdf)


def _can_be_read(stream: pikepdf.Stream) -> bool:
    return stream.get("/Filter") in (None, pikepdf.Name.FlateDecode)


def changed_objects(data: bytes, random: Random) -> bytes:
    """Entries of dictionaries and members of arrays exchanged for others of the file, or for what is not due."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        every = list(pdf.objects)
        holders = [
            each for each in every if isinstance(each, (pikepdf.Dictionary, pikepdf.Stream)) and len(each.keys())
        ]
        for _ in range(random.choice((1, 1, 2, 4, 8))):
            _exchange_entry(random.choice(holders), every, random)
        return _saved(pdf)


def _exchange_entry(holder: pikepdf.Object, every: list[pikepdf.Object], random: Random) -> None:
    key = random.choice(sorted({*holder.keys()} - {"/Length"}) or ["/Type"])
    value = holder.get(key)
    if isinstance(value, pikepdf.Dictionary) and len(value.keys()) and not value.is_indirect and random.randrange(3):
        _exchange_entry(value, every, random)
    elif isinstance(value, pikepdf.Array) and len(value) and random.randrange(3):
        value[random.randrange(len(value))] = _another(every, random)
    elif value is not None and not random.randrange(5):
        del holder[key]
    else:
        holder[key] = _another(every, random)


def _another(every: list[pikepdf.Object], random: Random) -> object:
    return random.choice(every) if random.randrange(2) else random.choice(_OBJECTS)


def book_with_a_spoilt_page(random: Random) -> tuple[bytes, bytes, int]:
    """One of the books, the same with what one page draws changed, and which page."""
    book = random.choice(books())
    with pikepdf.open(io.BytesIO(book)) as pdf:
        number = random.randrange(len(pdf.pages))
        page = pdf.pages[number]
        page.contents_coalesce()
        drawn = page.Contents.read_bytes() if "/Contents" in page else b""
        page.Contents = pdf.make_stream(changed_bytes(drawn, random))
        return book, _saved(pdf), number + 1
