"""Numbers as they are printed; the roman ones beside those that PDFium writes for page labels (ISO 32000-1 12.4.2)."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import pikepdf
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pikepdf import Array, Dictionary, Name

from worker.book.numerals import Number, number_in, to_roman

VALUES = [*range(1, 121), 399, 400, 444, 499, 500, 888, 944, 999]


@pytest.mark.parametrize("style", ["r", "R"])
def test_roman_numerals_as_a_reader_writes_them(tmp_path: Path, style: str) -> None:
    """One page for each value, each with a label range of its own."""
    with pikepdf.new() as pdf:
        ranges: list[object] = []
        for index, value in enumerate(VALUES):
            pdf.add_blank_page()
            ranges += [index, Dictionary(S=Name(f"/{style}"), St=value)]
        pdf.Root.PageLabels = Dictionary(Nums=Array(ranges))
        pdf.save(tmp_path / "labels.pdf")
    document = pypdfium2.PdfDocument(tmp_path / "labels.pdf")
    labels = [document.get_page_label(index) for index in range(len(VALUES))]
    document.close()
    numerals: Literal["roman", "roman-capitals"] = "roman" if style == "r" else "roman-capitals"
    assert [Number(value, numerals).text for value in VALUES] == labels
    assert [number_in(label) for label in labels] == [Number(value, numerals) for value in VALUES]


@given(st.integers(1, 3999))
def test_a_roman_numeral_means_what_it_was_written_for(value: int) -> None:
    assert number_in(to_roman(value)) == Number(value, "roman")


@pytest.mark.parametrize(
    "text", ["", "0", "012", "iiii", "vx", "ic", "Iv", "12a", "-3", "1.2", "page", "12345", "xivi"]
)
def test_what_is_no_number(text: str) -> None:
    """The last but two is a year of five figures; ``iiii``, ``vx`` and ``ic`` break the subtractive notation."""
    assert number_in(text) is None
