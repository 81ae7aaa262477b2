"""The words of a page's lines: gaps, steps back, accents, raised letters, text drawn twice; as poppler has them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.measure.build import Sheet
from tests.measure.words import words_by_poppler, words_of
from tests.needs import needs_poppler
from worker.measure import measure

SHOWN = {
    "a gap in an array": (b"[(Low) -300 (water)] TJ", "Low water"),
    "a kern in an array": (b"[(T) 80 (ide)] TJ", "Tide"),
    "a gap after the last string": (b"[(Low) -300] TJ (water) Tj", "Low water"),
    "a gap before the first string": (b"(Low) Tj [-300 (water)] TJ", "Low water"),
    "word space": (b"9 Tw (Low water) Tj", "Low water"),
    "a gap between runs": (b"(Low) Tj 30 0 Td (water) Tj", "Low water"),
    "a step back": (b"[(water) 6000 (Low)] TJ", "Low water"),
    "an accent in an array": (b"[(caf) 0 (\\264) 444 (e)] TJ", "café"),
    "an accent in a run of its own": (b"(caf) Tj (\\264) Tj 15.8 0 Td (e) Tj", "café"),
    "drawn twice for weight": (b"(Harbour) Tj 1 0 0 1 72.2 300 Tm (Harbour) Tj", "Harbour"),
    "a note's mark": (b"(Harbour) Tj 7 0 0 7 114.36 304 Tm /H 1 Tf (2) Tj", "Harbour2"),
    "a lowered letter": (b"(TL) Tj 1 0 0 1 87.2 297.5 Tm (E) Tj 1 0 0 1 95.5 300 Tm (X) Tj", "TLEX"),
    "a soft hyphen that is drawn": (b"(har\\255 ) Tj", "har-"),
    "hidden": (b"(Low) Tj 3 Tr ( water) Tj", "Low"),
}


@pytest.mark.parametrize(("shown", "text"), SHOWN.values(), ids=SHOWN.keys())
def test_words_of_a_line(tmp_path: Path, shown: bytes, text: str) -> None:
    page = Sheet().page(b"BT /H 12 Tf 1 0 0 1 72 300 Tm " + shown + b" ET").measured(tmp_path).pages[0]
    assert [line.text for line in page.lines] == [text]


DIFFERENT = {"hidden", "a lowered letter"}
"""Poppler shows hidden text too; and it puts what is lowered by a fifth of an em into a word of its own."""


@needs_poppler
@pytest.mark.parametrize("shown", sorted(set(SHOWN) - DIFFERENT))
def test_poppler_finds_the_same_words(tmp_path: Path, shown: str) -> None:
    path = Sheet().page(b"BT /H 12 Tf 1 0 0 1 72 300 Tm " + SHOWN[shown][0] + b" ET").save(tmp_path / "sheet.pdf")
    assert words_of(measure(path).pages[0]) == words_by_poppler(path)[0]
