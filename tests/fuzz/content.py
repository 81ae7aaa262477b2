"""Content streams by a grammar of operators (ISO 32000-1 annex A), mostly with the operands that are due."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from tests.fuzz import sound
from tests.fuzz.values import (
    Bytes,
    anything,
    array_of,
    keys,
    names,
    numbers,
    rarely,
    strings,
    units,
)

_MOST = 24


def _named(of: tuple[bytes, ...]) -> Bytes:
    return rarely(names, st.sampled_from(of).map(b"/".__add__), 10)


def _line(*operands: Bytes, operator: bytes) -> Bytes:
    return st.tuples(*operands).map(lambda each: b" ".join((*each, operator)))


def _each(operators: bytes, *operands: Bytes) -> list[Bytes]:
    return [_line(*operands, operator=operator) for operator in operators.split()]


_SIZE = st.sampled_from((b"0", b"1", b"9", b"12", b"-12", b"0.001", b"100000"))
_SHORT = st.sampled_from((b"0", b"1", b"-3", b"12", b"70", b"300", b"0.5"))
_SHOWN = rarely(strings, st.sampled_from((b"(A)", b"(AB Tern)", b"<0024>", b"<00240025003>", b"(\\101)")), 4)
_inline_dictionary = st.lists(
    st.sampled_from(
        (b"/W 2", b"/H 2", b"/BPC 8", b"/BPC 1", b"/CS /G", b"/CS /RGB", b"/CS /I", b"/IM true", b"/D [1 0]", b"/F /Fl",
         b"/F [/A85 /LZW]", b"/W -1", b"/H 99999999", b"/CS [/I /RGB 1 (abcdef)]", b"/CS /C3", b"/BPC 16", b"/F /DCT",
         b"/DP << /Predictor 15 /Columns 9 >>", b"/I true", b"/W null", b"/Filter /CCF", b"/L 4")
    ),
    max_size=6,
)  # fmt: skip
_inline_images = st.tuples(
    _inline_dictionary, st.binary(max_size=12), st.sampled_from((b"\nEI", b" EI Q", b"EI", b""))
).map(lambda parts: b"BI " + b" ".join(parts[0]) + b" ID " + parts[1] + parts[2])

_OPERATORS: list[Bytes] = [
    *_each(b"q Q q Q BT ET BT ET W W* n n f F f* B B* b b* S s h EMC T* BX EX"),
    *_each(b"cm Tm Tm cm", *(rarely(numbers, units, 3),) * 4, numbers, numbers),
    *_each(b"w J j M i g G Tc Tw Tz TL Ts Tr", rarely(numbers, _SHORT, 3)),
    *_each(b"m l m l Td TD", numbers, numbers),
    *_each(b"re re re v y", *(numbers,) * 4),
    *_each(b"c c k K", *(numbers,) * 6),
    *_each(b"rg RG", units, units, units),
    *_each(b"k K", units, units, units, units),
    *_each(b"Tf Tf Tf", _named(sound.FONT_NAMES), _SIZE),
    *_each(b"Tj Tj Tj '", _SHOWN),
    *_each(b'"', numbers, numbers, _SHOWN),
    *_each(b"TJ TJ TJ", array_of(rarely(numbers, _SHOWN, 3))),
    *_each(b"Do Do Do Do", _named(sound.XOBJECT_NAMES)),
    *_each(b"cs CS cs CS", rarely(_named((b"Pattern", b"DeviceCMYK", b"Lab")), _named(sound.SPACE_NAMES), 3)),
    *_each(b"sc SC scn SCN", units, units),
    *_each(b"scn SCN", _named(sound.PATTERN_NAMES)),
    *_each(b"gs gs", _named(sound.STATE_NAMES)),
    *_each(b"sh", _named((b"P1", b"P0"))),
    *_each(b"d", array_of(numbers, 0, 4), _SHORT),
    *_each(b"BDC BDC", st.just(b"/OC"), _named(sound.LAYER_KEYS)),
    *_each(b"BMC MP", names),
    *_each(b"d0 d1", *(_SHORT,) * 6),
    _inline_images,
]  # fmt: skip
_REAL_OPERATORS = b"cm Tm Tf TJ Tj ' \" re m l c Do gs cs scn sc sh d w Tr Ts Tz Td k K rg BDC BI ID EI d1 Q ET"
_astray = st.one_of(
    st.tuples(array_of(anything, 0, 3), st.sampled_from(_REAL_OPERATORS.split())).map(
        lambda parts: parts[0][1:-1] + b" " + parts[1]
    ),
    st.sampled_from(
        (b"<<", b">>", b"[", b"]", b"(", b")", b"<", b">", b"{", b"}", b"%", b"/", b"\0", b"\\", b"BI", b"ID")
    ),
    st.tuples(keys, st.binary(max_size=10)).map(b" ".join),
    st.binary(max_size=20),
)
instructions = rarely(_astray, st.one_of(_OPERATORS), 8)


@st.composite
def contents(draw: DrawFn, most: int = _MOST) -> bytes:
    """One content stream. Half of them start as a sound one does, so that what follows falls on something."""
    start = draw(st.sampled_from((b"", *sound.PAGE_CONTENTS)))
    return start + b"\n".join([b"", *draw(st.lists(instructions, min_size=1, max_size=most))])
