"""Content streams are taken apart as qpdf takes them apart: the same operators, the same operands.

qpdf's tokens come through pikepdf's ``parse_content_stream``; the manuals are real ones of Debian.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pikepdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.corpora import ANNOTATIONS, DEBIAN_REFERENCE, MEMOIR, R_INTRO, Corpus
from worker.measure.content import (
    first_name,
    instructions,
    numbers,
    shown_parts,
    string_bytes,
)
from worker.measure.pdfobjects import stream_bytes

SHOWING, NAMING = {"Tj", "TJ", "'"}, {"Do", "gs", "Tf"}
MOVING = {"cm", "Tm", "Td", "TD", "re", "m", "l", "c", "rg", "g", "k", "w", "Tc", "Tw"}


def _shown(operands: Any) -> list[Any]:
    """Strings as bytes and numbers as floats, in order, out of their arrays."""
    flat: list[Any] = []
    for operand in operands:
        if isinstance(operand, pikepdf.Array):
            flat += _shown(operand)
        elif isinstance(operand, pikepdf.String):
            flat.append(bytes(operand))
        elif isinstance(operand, (int, float, Decimal)):
            flat.append(float(operand))
    return flat


def _our_shown(operands: bytes) -> list[Any]:
    flat: list[Any] = []
    for place, part in enumerate(shown_parts(operands)):
        flat += [string_bytes(part)] if place % 2 else numbers(part.strip(b"[] \n\r"))
    return flat


def _compare(ours: list[tuple[bytes, bytes]], theirs: list[Any]) -> None:
    """``theirs`` are objects of a PDF that must still be open."""
    names = ["BI" if isinstance(each, pikepdf.ContentStreamInlineImage) else str(each.operator) for each in theirs]
    assert [operator.decode("latin-1") for _, operator in ours] == names
    for (operands, _), name, reference in zip(ours, names, theirs, strict=True):
        if name in SHOWING:
            assert _our_shown(operands) == _shown(reference.operands)
        elif name in MOVING:
            assert numbers(operands) == pytest.approx([float(each) for each in reference.operands])
        elif name in NAMING:
            assert first_name(operands) == str(reference.operands[0])


@pytest.mark.parametrize(
    ("corpus", "step"),
    [
        pytest.param(corpus, step, marks=corpus.missing, id=corpus.path.stem)
        for corpus, step in [(MEMOIR, 3), (ANNOTATIONS, 7), (R_INTRO, 1), (DEBIAN_REFERENCE, 2)]
    ],
)
def test_the_same_instructions_as_qpdf(corpus: Corpus, step: int) -> None:
    with pikepdf.open(corpus.path) as pdf:
        for page in list(pdf.pages)[::step]:
            data = stream_bytes(page.obj.get("/Contents"))
            _compare(list(instructions(data)), list(pikepdf.parse_content_stream(page)))


ODD_STREAMS = {
    "strings in strings": b"BT (a(b(c(d(e(f)e)d)c)b)a) Tj ET",
    "deep strings in an array": b"BT [(a(b(c(d(e)d)c)b)a) -200 (g)] TJ ET",
    "escapes": rb"BT (a\)b\(c\\d\n\101\7x\
y) Tj ET",
    "hex": b"BT <48 65 6C6c 6F7> Tj ET",
    "comments": b"q % (not a string) Tj\n1 0 0 1 5 5 cm % and Q\nQ",
    "no spaces": b"q 1 0 0 1 5 5 cm/F1 12 Tf[(a)-3(b)]TJ(c)Tj/Im0 Do Q",
    "odd numbers": b"+1.5 -.5 0. 00.25 -0 7 cm",
    "a dictionary": b"/OC <</MCID 3 /E (x>>y)>> BDC (a) Tj EMC",
    "an escaped name": b"/A#42C Do",
    "an inline image": b"q BI /W 2 /H 2 /BPC 8 /CS /G ID \x00EI\xff\x10\nEI Q (a) Tj",
}


@pytest.mark.parametrize("name", ODD_STREAMS)
def test_odd_streams_as_qpdf_reads_them(name: str) -> None:
    data = ODD_STREAMS[name]
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page()
        page.obj.Contents = pdf.make_stream(data)
        _compare(list(instructions(data)), list(pikepdf.parse_content_stream(page)))


@given(st.binary(max_size=40))
def test_a_string_comes_back_as_it_went_in(text: bytes) -> None:
    """Written by qpdf (pikepdf's ``unparse``), read by us."""
    token = pikepdf.String(text).unparse()
    ((operands, operator),) = instructions(token + b" Tj")
    assert operator == b"Tj"
    assert _our_shown(operands) == [text]


@given(st.binary(max_size=400))
def test_any_bytes_are_got_through(data: bytes) -> None:
    for _, operator in instructions(data):
        assert operator
