"""Every flaw in every design: what is found, where that is not the flaw alone. ``python -m tests.books.designs [WORD]``
takes the flaws and designs that a word names."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.books.designs.by_typst import Design, set_by_typst
from tests.books.designs.shelf import SOUND, made, pairs
from worker.book import read_book
from worker.judge import judge
from worker.measure import measure
from worker.profiles import load_profile

Found = list[tuple[str, tuple[int, ...]]]


def found(design: Design, folder: Path) -> Found:
    """The rules that find something in a design, and where."""
    measurements = measure(set_by_typst(design, folder / "book.pdf"))
    findings = judge(measurements, load_profile("common-paperback"), book=read_book(measurements)).findings
    return [(finding.rule, finding.pages) for finding in findings]


def main(word: str = "") -> int:
    """Print what differs; how many do."""
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for name, design in SOUND.items():
            if word in name:
                wrong += _told(name, [], found(design, Path(folder)))
        for flaw, name in pairs():
            if word in f"{flaw}, {name}":
                flawed = made(flaw, name)
                wrong += _told(f"{flaw}, {name}", [(flawed.rule, flawed.pages)], found(flawed.design, Path(folder)))
    print(f"{wrong} differ")
    return int(wrong > 0)


def _told(name: str, wanted: Found, got: Found) -> int:
    if wanted == got:
        return 0
    print(f"{name}: wanted {wanted}, found {got}", flush=True)
    return 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
