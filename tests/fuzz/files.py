"""Whole files by Hypothesis: the sound book with some of its objects replaced, spoilt or turned to something else."""

from __future__ import annotations

import re
import zlib

from hypothesis import assume
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from tests.fuzz import sound
from tests.fuzz.content import contents
from tests.fuzz.values import (
    Bytes,
    anything,
    array_of,
    boxes,
    dictionary_of,
    integers,
    keys,
    matrices,
    names,
    numbers,
    odd_numbers,
    rarely,
    references,
    strings,
)

_DRAWN = (*sound.CONTENTS, *sound.CONTENTS, *sound.FORMS, *sound.GLYPHS, sound.PATTERNS[0])
_SPOILT = (sound.CATALOGUE, sound.ROOT, *range(sound.BRANCH, sound.LAST + 1), *range(sound.FONTS[0], sound.NAMES))
_TOKEN = re.compile(
    rb"/[A-Za-z0-9+.-]+|\d+ 0 R|[-+.]?\d[\d.]*|\([^()]*\)|<[0-9a-f]*>|\[[^\[\]]*\]|<<[^<>]*>>|true|false"
)
_PAGE_KEYS = st.sampled_from(
    (b"MediaBox", b"CropBox", b"TrimBox", b"BleedBox", b"ArtBox", b"Rotate", b"UserUnit", b"Annots", b"Contents",
     b"Resources", b"Group", b"AA", b"Tabs", b"Parent", b"Kids", b"Type")
)  # fmt: skip
_page_values = rarely(anything, st.one_of(boxes, boxes, odd_numbers, integers, references, array_of(references)), 5)
_CMAPS = (
    b"begincmap 1 begincodespacerange <00> <ff> endcodespacerange 1 beginbfchar <41> <d800> endbfchar endcmap",
    b"begincmap 1 beginbfrange <00> <ffffffff> <0041> endbfrange 1 begincidrange <0000> <ffff> 0 endcidrange endcmap",
    b"begincmap /UniJIS-UCS2-H usecmap 1 beginbfrange <0000> <0002> [<0041> (x) 5] endbfrange", b"beginbfchar <41>",
    b"begincmap 1 beginbfchar <41> <> <42> /A endbfchar 1 begincidchar (a) 1e9 endcidchar endcmap", b"%!PS", b"((((",
)  # fmt: skip


def _spaces() -> Bytes:
    families = st.sampled_from(
        (b"ICCBased", b"Indexed", b"Separation", b"DeviceN", b"CalRGB", b"CalGray", b"Lab", b"Pattern", b"Lab")
    )
    return st.recursive(
        names | references | anything,
        lambda base: st.tuples(families, array_of(base, 0, 4)).map(
            lambda parts: b"[/" + parts[0] + b" " + parts[1][1:]
        ),
        max_leaves=6,
    )


_STRATEGIES: dict[int, Bytes] = {
    **dict.fromkeys(sound.SPACES, _spaces()),
    sound.TO_UNICODE: st.sampled_from(_CMAPS).map(sound.stream),
    sound.FUNCTION: dictionary_of(
        st.sampled_from((b"FunctionType", b"Domain", b"C0", b"C1", b"N", b"Range")), anything
    ),
    **dict.fromkeys(sound.LAYERS, dictionary_of(st.sampled_from((b"Name", b"Type", b"Usage", b"Intent")), anything)),
    sound.LAYER_NAMES: dictionary_of(st.sampled_from((b"OCGs", b"P", b"VE")), array_of(names | references) | anything),
    sound.INFO: dictionary_of(
        st.sampled_from((b"Title", b"Author", b"Producer", b"Trapped", b"CreationDate")), strings
    ),
}


@st.composite
def _spoilt(draw: DrawFn, body: bytes, times: int = 2) -> bytes:
    """An object with one or two of its tokens replaced."""
    head, mark, data = body.partition(b">>\nstream\n")
    for _ in range(draw(st.integers(1, times))):
        tokens = list(_TOKEN.finditer(head))
        if not tokens:
            return draw(anything)
        found = tokens[draw(st.integers(0, len(tokens) - 1))]
        head = head[: found.start()] + draw(_instead_of(found[0])) + head[found.end() :]
    return head + mark + data


def _instead_of(token: bytes) -> Bytes:
    if token[:1] == b"/":
        return rarely(anything, names, 3)
    if token[:1] == b"[":
        return rarely(anything, array_of(rarely(anything, numbers, 4)) | matrices | boxes, 3)
    return rarely(anything, st.one_of(odd_numbers, numbers, references, names, st.just(b""), st.just(b"null")), 2)


@st.composite
def _extended(draw: DrawFn, body: bytes) -> bytes:
    """An object with a key more, or given again."""
    more = draw(dictionary_of(_PAGE_KEYS if b"/Type /Page" in body else keys, _page_values, 3))[2:-2]
    return body.replace(b"<<", b"<<" + more, 1) if draw(st.booleans()) else more.join(body.rsplit(b">>", 1))


@st.composite
def _redrawn(draw: DrawFn, body: bytes) -> bytes:
    """A stream with other content, at times compressed or cut."""
    head = body.partition(b">>\nstream\n")[0]
    given = re.sub(rb"/Length \d+|/Filter /\w+", b"", head.removeprefix(b"<<"))
    data = draw(contents())
    if draw(st.sampled_from((True,) * 9 + (False,))):
        return sound.stream(data, given)
    squeezed = zlib.compress(data)
    cut = draw(st.integers(0, len(squeezed)))
    return sound.stream(draw(st.sampled_from((squeezed, squeezed[:cut], data))), given + b" /Filter /FlateDecode")


@st.composite
def drawn_files(draw: DrawFn) -> bytes:
    """Sound objects, and content streams by the grammar; now and then one resource is spoilt."""
    objects = dict(sound.sound_objects())
    for number in draw(st.lists(st.sampled_from(_DRAWN), min_size=1, max_size=3)):
        objects[number] = draw(_redrawn(objects[number]))
    if draw(st.booleans()):
        number = draw(st.sampled_from(_SPOILT[2:]))
        objects[number] = draw(_spoilt(objects[number]))
    return sound.written(objects)


@st.composite
def spoilt_files(draw: DrawFn) -> bytes:
    """Objects of the wrong kind, with wrong values, missing, or standing for themselves."""
    objects = dict(sound.sound_objects())
    for number in draw(st.lists(st.sampled_from(_SPOILT), min_size=1, max_size=6)):
        body = objects.get(number, b"null")
        own = _STRATEGIES.get(number, _spoilt(body))
        ways = [_spoilt(body), _spoilt(body), own, own, _extended(body), anything, st.just(sound.reference(number))]
        objects[number] = draw(st.one_of(ways))
    if draw(st.sampled_from((False, False, False, True))):
        objects.pop(draw(st.sampled_from(_SPOILT[2:])), None)
    if draw(st.booleans()):
        objects[sound.CONTENTS[0]] = sound.stream(draw(contents(8)))
    trailer = draw(
        rarely(
            dictionary_of(st.sampled_from((b"ID", b"Prev", b"Info", b"Root", b"Encrypt")), anything), st.just(b"<<>>")
        )
    )
    return sound.written(objects, trailer[2:-2])


_REFERENCE = re.compile(rb"\s*\d+ \d+ R")
_own_entries = _PAGE_KEYS.filter(lambda key: key != b"Kids")


@st.composite
def spoilt_pages(draw: DrawFn) -> tuple[bytes, int]:
    """The sound book with one page spoilt that stays a page, and which: its content, its entries, or all of it."""
    objects, at = dict(sound.sound_objects()), draw(st.integers(0, len(sound.PAGES) - 1))
    page, drawn = sound.PAGES[at], sound.CONTENTS[at]
    way = draw(st.integers(0, 5))
    if way < 3:
        objects[drawn] = draw(_redrawn(objects[drawn]))
    elif way < 5:
        more = draw(dictionary_of(_own_entries, _page_values, 3))[2:-2]
        objects[page] = more.join(draw(_spoilt(objects[page])).rsplit(b">>", 1))
    else:
        objects[page] = draw(anything)
    assume(b"/Kids" not in objects[page] and not _REFERENCE.match(objects[page]))
    return sound.written(objects), at + 1
