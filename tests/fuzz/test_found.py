"""What was found by running many files, as the smallest page that shows it. None may cost the page."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from tests.fuzz.fence import written_in
from tests.fuzz.oracle import Answer, examine
from tests.fuzz.sound import (
    BRANCH_OF_NAMES,
    CONTENTS,
    DESCENDANTS,
    FONTS,
    INFO,
    NOTES,
    sound_objects,
    stream,
    written,
)
from tests.hostile.raw import deflated
from tests.measure.build import Sheet, block_font
from worker.measure import measure
from worker.measure.models import Measurements, Page

LATIN_1 = "É".encode("latin-1")
NO_UTF_8: Any = pikepdf.Object.parse(b"/#c9")


def _content(content: bytes) -> Callable[[Path], Measurements]:
    return Sheet().page(content).measured


FOUND = {
    "text that a matrix makes flat": b"BT /H 12 Tf 1 0 0 0 50 50 Tm (A) Tj (B) Tj ET",
    "a font by a name that is no UTF-8": b"BT /" + LATIN_1 + b" 9 Tf (A) Tj ET",
    "a pattern by a name that is no UTF-8": b"/Pattern cs /" + LATIN_1 + b" scn 0 0 9 9 re f",
    "a space by a name that is no UTF-8": b"/" + LATIN_1 + b" cs 0 0 9 9 re f",
    "a name with a zero": b"/A#00 cs /B#00 gs /C#00#ff Do 0 0 9 9 re f",
    "an inline image in a space that is no UTF-8": b"BI /W 1 /H 1 /BPC 8 /CS /" + LATIN_1 + b" ID x EI",
}


@pytest.mark.parametrize("content", FOUND.values(), ids=FOUND.keys())
def test_a_page_is_read(tmp_path: Path, content: bytes) -> None:
    (page,) = _content(content + b" 0 g 100 100 50 50 re f")(tmp_path).pages
    assert page.unread is None
    assert page.ink is not None
    assert page.ink[2] >= 150


def _latin_1(sheet: Sheet, value: Any) -> Dictionary:
    """A dictionary with one entry, by a name of one byte that is no UTF-8 (ISO 32000-1 7.3.5 allows any byte)."""
    entries = Dictionary()
    entries[NO_UTF_8] = sheet.pdf.make_indirect(value)
    return entries


def _page_with(folder: Path, content: bytes, category: str, value: Callable[[pikepdf.Pdf], object]) -> Page:
    sheet = Sheet()
    resources = {category: _latin_1(sheet, value(sheet.pdf))}
    (page,) = sheet.page(content, resources=resources).measured(folder).pages
    assert page.unread is None
    return page


def test_what_has_a_name_that_is_no_utf_8_is_found(tmp_path: Path) -> None:
    """The box of the block font and of the form are known; the ink of the separation is one of four."""
    text = _page_with(tmp_path, b"BT /#c9 10 Tf 50 60 Td (A) Tj ET", "Font", block_font)
    assert text.text == pytest.approx((50, 60, 60, 70))
    form = _page_with(tmp_path, b"/#c9 Do", "XObject", _form)
    assert form.ink == pytest.approx((5, 6, 12, 14))
    space = _page_with(tmp_path, b"/#c9 cs 1 scn 0 0 9 9 re f", "ColorSpace", _separation)
    assert space.colours == ("spot",)


def _form(pdf: pikepdf.Pdf) -> Stream:
    return Stream(pdf, b"5 6 7 8 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 100, 100])


def _separation(pdf: pikepdf.Pdf) -> Array:
    tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[1, 0, 0, 0], N=1)
    return Array([Name.Separation, NO_UTF_8, Name.DeviceCMYK, tint])


def test_a_glyph_procedure_by_a_name_that_is_no_utf_8(tmp_path: Path) -> None:
    sheet = Sheet()
    font = block_font(sheet.pdf)
    font.CharProcs = _latin_1(sheet, font.CharProcs.A)
    font.Encoding = Dictionary(Differences=Array([65, NO_UTF_8]))
    content = b"BT /T 10 Tf 50 60 Td (A) Tj ET"
    (page,) = sheet.page(content, resources={"Font": Dictionary(T=font)}).measured(tmp_path).pages
    assert page.unread is None
    assert page.text == pytest.approx((50, 60, 60, 70))


def test_an_embedded_font_under_a_matrix_past_all_figures(tmp_path: Path) -> None:
    objects = dict(sound_objects())
    huge = b"9" * 200
    objects[CONTENTS[0]] = stream(
        b"1 1 1 1 0 0 cm %s 0 0 %s 0 0 cm BT /F1 12 Tf %s 1 1 %s 0 0 Tm (Tern) Tj ET" % ((huge,) * 4)
    )
    first, *others = measure(written_in(tmp_path, written(objects))).pages
    assert first.unread is None
    assert first.text is None
    assert all(page.text for page in others)


def test_a_page_that_crosses_a_limit_costs_that_page(tmp_path: Path) -> None:
    """300 kB of content become 300 MB; all other pages measure as they did."""
    content = stream(deflated(b" " * 1_000_000, 300), b"/Filter /FlateDecode")
    base = measure(written_in(tmp_path, written(sound_objects())))
    path = written_in(tmp_path, written({**sound_objects(), CONTENTS[1]: content}))
    assert examine(path, base=base, spoilt_page=2) == Answer("measured", pages=3, unread=1)
    assert measure(path).pages[1].unread == "a stream inflates past 256 MB"


def test_text_that_says_it_is_utf_8_and_is_not(tmp_path: Path) -> None:
    """ISO 32000-2 7.9.2.2 has a mark for UTF-8; U+FFFD stands for what is none (Unicode 3.9, D93b)."""
    link = b"<< /Subtype /Link /Rect [10 10 60 20] /A << /S /URI /URI (\xef\xbb\xbfTern\xff) >> >>"
    information = b"<< /Title (\xef\xbb\xbfTern\xff) /Producer (\xef\xbb\xbf\xc3) >>"
    measured = measure(written_in(tmp_path, written({**sound_objects(), INFO: information, NOTES[0]: link})))
    assert (measured.document.title, measured.document.producer) == ("Tern\ufffd", "\ufffd")
    assert measured.links[0].target == "Tern\ufffd"


def test_no_other_program_is_started_for_a_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def started(*_: object, **__: object) -> None:
        raise AssertionError("a program was started")

    monkeypatch.setattr(subprocess, "Popen", started)
    content = stream(b"0 0 9 9 re f", b"/Filter /JBIG2Decode")
    page = measure(written_in(tmp_path, written({**sound_objects(), CONTENTS[0]: content}))).pages[0]
    assert page.unread == "its content is damaged"


@pytest.mark.parametrize("key", [b"/Encoding", b"/Widths", b"/CIDSystemInfo", b"/W"])
def test_an_entry_of_a_font_that_holds_itself_many_times_over(tmp_path: Path, key: bytes) -> None:
    """A thousand members, each of which is the whole again: 10 to the 36th values, twelve deep."""
    spoilt = {
        number: sound_objects()[number].replace(b"<<", b"<< %s 58 0 R" % key, 1) for number in (*FONTS, *DESCENDANTS)
    }
    many = b"[" + b"58 0 R " * 1000 + b"]"
    measured = measure(written_in(tmp_path, written({**sound_objects(), **spoilt, BRANCH_OF_NAMES: many})))
    assert [page.unread for page in measured.pages] == [None, None, None]
    assert all(page.text for page in measured.pages)


def test_a_glyph_of_a_simple_font_by_a_name_that_is_no_utf_8(tmp_path: Path) -> None:
    font = b"<< /Type /Font /Subtype /TrueType /BaseFont /TernSans /FontDescriptor 16 0 R "
    font += b"/Encoding << /Differences [65 /A /#c9] >> >>"
    before, after = (
        measure(written_in(tmp_path, written({**sound_objects(), **changed}))).pages[0]
        for changed in ({}, {FONTS[1]: font})
    )
    assert after.unread is None
    assert before.text is not None
    assert after.text is not None


def test_a_table_of_objects_that_counts_from_elsewhere(tmp_path: Path) -> None:
    """No entry of the cross-reference (ISO 32000-1 7.5.4) is where it says: the catalogue is missed when it is asked
    for, and not when the file is opened."""
    data = written(sound_objects()).replace(b"\nxref\n0 ", b"\nxref\n65535 ")
    assert measure(written_in(tmp_path, data)).document.unreadable is not None


def test_a_map_of_a_font_that_builds_on_itself(tmp_path: Path) -> None:
    """``UseCMap`` (ISO 32000-1 9.7.5.4) of an embedded CMap leads to the CMap itself."""
    encoding = stream(b"begincmap endcmap", b"/Type /CMap /CMapName /Own /UseCMap 58 0 R")
    spoilt = {number: sound_objects()[number].replace(b"/Identity-H", b"58 0 R") for number in FONTS}
    measured = measure(written_in(tmp_path, written({**sound_objects(), **spoilt, BRANCH_OF_NAMES: encoding})))
    assert [page.unread for page in measured.pages] == [None, None, None]
