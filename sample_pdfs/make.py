"""Sets the sample books: ``python -m sample_pdfs.make [FOLDER]`` (by default this one).

Typst sets them with the fonts of its wheel; ``finish`` adds what Typst does not write. The text is original, the
books, their authors and their printers are invented. The same versions of the libraries give the same bytes.
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import typst

from sample_pdfs.finish import MM, as_pdfx_1a, with_bleed, with_faults
from sample_pdfs.pictures import in_four_inks, landscape, save_jpeg, tide_curve
from sample_pdfs.prose import chapters, paragraphs

HERE = Path(__file__).resolve().parent
PRESS = "The Tern Island Writers’ Cooperative"
TIMESTAMP = 1_788_264_000  # 1 September 2026, noon UTC


def isbn(first_twelve: str) -> str:
    """An ISBN-13 with its check digit (ISO 2108: weights 1 and 3 in turn, modulo 10); hyphens are kept."""
    digits = [int(character) for character in first_twelve if character.isdigit()]
    total = sum(digit * (3 if place % 2 else 1) for place, digit in enumerate(digits))
    return f"{first_twelve}-{-total % 10}"


def imprint(title: str, author: str, number: str) -> list[str]:
    """The lines of an imprint page. The ISBN is of a group that has been given to no country."""
    return [
        f"{title}",
        f"Text © 2026 {author}. An invented book by an invented author.",
        f"First published 2026 by {PRESS}, The Net Loft, Tern Island.",
        "Set in Libertinus Serif with Typst.",
        f"ISBN {isbn(number)} (invented for this sample; no agency has issued it)",
        "No part of this island may be reproduced.",
    ]


def typeset(source: str, book: dict[str, Any], folder: Path, **options: Any) -> bytes:
    """Compile ``source``, a .typ file of this folder, with ``book`` as its input and the pictures in ``folder``."""
    shutil.copy(HERE / source, folder / source)
    data = typst.compile(
        str(folder / source),
        format="pdf",
        ignore_system_fonts=True,
        sys_inputs={"book": json.dumps(book)},
        pdf_tags=False,
        timestamp=TIMESTAMP,
        **options,
    )
    assert isinstance(data, bytes)
    return data


def _named(titles: list[str], *, words: int, seed: int) -> list[dict[str, Any]]:
    texts = chapters(len(titles), words=words, seed=seed)
    return [{"title": title, "paragraphs": text} for title, text in zip(titles, texts, strict=True)]


def keeper_of_the_low_light(folder: Path) -> bytes:
    """The sound paperback: 6 × 9 in, mirrored, front matter, contents, folios, running heads."""
    title, author = "The Keeper of the Low Light", "Ottilie Varne"
    book = {
        "title": title,
        "author": author,
        "publisher": PRESS,
        "imprint": imprint(title, author, "979-9-9999-0101"),
        "dedication": "For whoever has the watch",
        "chapters": _named(
            ["The Tide Book", "Two Harbours", "The Second Bell", "Paper and Tar", "Low Water", "The Empty Page"],
            words=1750,
            seed=11,
        ),
        "colophon": "Set in Libertinus Serif, eleven on fourteen and a half. The terns were not disturbed.",
        "width": 432,
        "height": 648,
        "inside": 63,
        "outside": 43,
        "head": 72,
        "foot": 68,
        "header_ascent": 17,
        "footer_descent": 17,
        "size": 11,
        "leading": 14.5,
        "sinkage": 76,
    }
    return typeset("novel.typ", book, folder)


def tide_tables(folder: Path) -> bytes:
    """The offset book: 170 × 244 mm, 64 pages, grey alone, PDF/X-1a:2003."""
    title, author = "Tide Tables for a Small Island", "Marrin Oake"
    picture = landscape(2, (1500, 1000)).convert("L")
    book = {
        "title": title,
        "author": author,
        "publisher": PRESS,
        "imprint": imprint(title, author, "979-9-9999-0103"),
        "dedication": "To the computers, up their river",
        "frontispiece": {"file": save_jpeg(picture, folder / "frontispiece.jpg", ppi=350), "width": 300},
        "chapters": _named(
            ["Springs", "Neaps", "Slack Water", "The Outer Rock", "A Fortnight", "The Datum", "Weed on the Step"],
            words=3000,
            seed=23,
        ),
        "colophon": "Printed in one ink on the last of the blue reams.",
        "width": 170 * MM,
        "height": 244 * MM,
        "inside": 66,
        "outside": 54,
        "head": 78,
        "foot": 76,
        "header_ascent": 18,
        "footer_descent": 18,
        "size": 11.5,
        "leading": 15.5,
        "sinkage": 76,
    }
    return as_pdfx_1a(typeset("novel.typ", book, folder, pdf_standards="1.4"), condition="FOGRA29")


DAYS = (
    "Monday, fog",
    "Tuesday, rising",
    "Wednesday, clear",
    "Thursday, haze",
    "Friday, glass falling",
    "Saturday, snow light",
    "Sunday, night",
)


def _weather(number: int, pixels: int, folder: Path) -> str:
    """The picture of a weather in four inks; returns the name of its file."""
    picture = in_four_inks(landscape(number, (pixels, pixels)))
    return save_jpeg(picture, folder / f"weather-{number}.jpg", ppi=300)


def seven_weathers(folder: Path) -> bytes:
    """The picture book: 210 × 210 mm with 3 mm of bleed on all four sides."""
    title, author, side, bleed = "Seven Weathers", "Wenna Sorrel", 210, 3
    pixels = round((side + 2 * bleed) / 25.4 * 300) + 1
    texts = paragraphs(31)
    plates = [
        {
            "file": _weather(number, pixels, folder),
            "title": ("", *DAYS, "")[number],
            "text": next(texts),
        }
        for number in range(9)
    ]
    book = {
        "title": title,
        "author": author,
        "publisher": PRESS,
        "imprint": imprint(title, author, "979-9-9999-0102"),
        "plates": plates,
        "afterword": [next(texts) for _ in range(20)],
        "width": side,
        "height": side,
        "bleed": bleed,
        "inside": 24,
        "outside": 20,
        "head": 20,
        "foot": 18,
    }
    return with_bleed(typeset("plates.typ", book, folder), bleed * MM)


def second_harbour(folder: Path) -> bytes:
    """The flawed book; the README lists its faults."""
    title, author = "The Second Harbour", "Isbel Corran"
    story = paragraphs(47)
    tide_curve((700, 400)).save(folder / "tides.png", dpi=(200, 200), optimize=True)
    book = {
        "paragraphs": [next(story) for _ in range(52)],
        "imprint": imprint(title, author, "979-9-9999-0104"),
        "wide": "Harbour dues: boats under five fathoms, 2; boats over, 4; strangers, 6; bishops, nothing.",
        "coarse": save_jpeg(landscape(5, (400, 260)), folder / "coarse.jpg", ppi=100),
        "line_art": "tides.png",
        "full_page": save_jpeg(landscape(1, (1800, 2700)), folder / "full-page.jpg", ppi=300, quality=50),
    }
    return with_faults(typeset("flawed.typ", book, folder))


def letters_from_the_pump(folder: Path) -> bytes:
    """The manuscript: Letter paper, not mirrored."""
    book = {
        "title": "Letters from the Pump",
        "author": "Jorrie Pell",
        "chapters": _named(["The First Letter", "The Second Letter", "The Last Letter"], words=1900, seed=59),
    }
    return typeset("manuscript.typ", book, folder)


BOOKS = {
    "keeper-of-the-low-light": keeper_of_the_low_light,
    "second-harbour": second_harbour,
    "seven-weathers": seven_weathers,
    "tide-tables": tide_tables,
    "letters-from-the-pump": letters_from_the_pump,
}


def make(name: str) -> bytes:
    """The PDF of the book ``name``, a key of ``BOOKS``."""
    with tempfile.TemporaryDirectory() as folder:
        return BOOKS[name](Path(folder))


def main() -> None:
    """Set every book into the folder given, or into this one."""
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE
    for name in BOOKS:
        path = target / f"{name}.pdf"
        path.write_bytes(make(name))
        print(f"{path.name}: {path.stat().st_size:,} bytes")


if __name__ == "__main__":
    main()
