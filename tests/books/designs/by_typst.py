"""Designs set by Typst: one source, and what each design asks of it as plain values."""

from __future__ import annotations

import json
import tempfile
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any, NamedTuple

import pikepdf
import typst
from PIL import Image

from sample_pdfs.prose import chapters as chapters_of_prose

SOURCE = Path(__file__).with_name("design.typ")
TITLES = ("The Tide Book", "Two Harbours", "The Second Bell", "Paper and Tar", "Low Water", "The Empty Page")
IMPRINT = (
    "Text © 2026 Ottilie Varne. An invented book by an invented author, for demonstration.",
    "Published by the Tern Island Writers’ Cooperative.",
    "ISBN 978-0-306-40615-7 (the example of the ISBN handbooks)",
    "Set in Libertinus Serif.",
)
FRONT = ("half", "title", "imprint", "dedication", "contents")


@dataclass(frozen=True)
class Design:
    """What ``design.typ`` asks. Chapters count from 0; a paragraph is ``chapter.paragraph``, both from 0. Of every
    so many paragraphs one has a break after it (``scenes``), is set in (``extracts``) or has a footnote (``notes``).
    """

    chapters: tuple[dict[str, Any], ...]
    title: str = "The Keeper of the Low Light"
    document_title: str = "The Keeper of the Low Light"
    author: str = "Ottilie Varne"
    dedication: str = "For whoever finds this on a wet afternoon"
    imprint: tuple[str, ...] = IMPRINT
    subtitle: str | None = None
    series: tuple[str, ...] = ("Letters from the Pump", "Second Harbour", "Seven Weathers")
    motto: str = "Low water is a promise."
    foreword: dict[str, Any] = field(default_factory=dict)
    lang: str = "en"
    contents_name: str = "Contents"
    front: tuple[str, ...] = FRONT
    front_numbers: str = "none"
    folio: str = "foot"
    folio_set: str = "1"
    heads: bool = True
    verso_head: str | None = None
    heading: str = "large"
    openings: str = "recto"
    contents: str = "leaders"
    sinkage: float = 90
    below: float = 30
    begins: str = "plain"
    scenes: int = 0
    scene_mark: str | None = None
    extracts: int = 0
    notes: int = 0
    spaced: bool = False
    contents_at_end: bool = False
    outside: float = 45
    verse: bool = False
    right_bound: bool = False
    last_word: str | None = None
    picture: str | None = None
    plates: dict[str, str] = field(default_factory=dict)
    first_number: int | None = 1
    body_on: str = "odd"
    # Flaws.
    wrong_folios: dict[str, str] = field(default_factory=dict)
    wrong_heads: dict[str, str] = field(default_factory=dict)
    without_heads: tuple[int, ...] = ()
    heads_over: tuple[int, ...] = ()
    unlisted: tuple[int, ...] = ()
    stale: int = 0
    wrong_entries: dict[str, int] = field(default_factory=dict)
    stray: dict[str, str] = field(default_factory=dict)
    on_verso: tuple[int, ...] = ()
    folio_on_blank: tuple[int, ...] = ()
    head_on_blank: tuple[int, ...] = ()
    blanks_before: tuple[int, ...] = ()
    restart: dict[str, int] = field(default_factory=dict)
    lower: dict[str, float] = field(default_factory=dict)
    breaks: tuple[str, ...] = ()
    blanks: tuple[str, ...] = ()
    pushed: tuple[str, ...] = ()
    widows: bool | None = None
    orphans: bool | None = None

    def but(self, **changed: Any) -> Design:
        """The same design with something else."""
        return replace(self, **changed)


class Spot(NamedTuple):
    """A place in the book: its name, the page of the file, and its baseline in points from the trimmed head."""

    name: str
    page: int
    y: float


class Layout(NamedTuple):
    """Where Typst's own layout has the parts of the front matter, the openings of chapters, pictures, and the first and
    the last line of each paragraph."""

    front: dict[str, int]
    openings: tuple[int, ...]
    plates: tuple[int, ...]
    starts: dict[str, Spot]
    ends: dict[str, Spot]


def prose(
    *,
    count: int = 6,
    words: int = 1700,
    seed: int = 7,
    titles: tuple[str | None, ...] = TITLES,
    **keys: tuple[str, ...],
) -> tuple[dict[str, Any], ...]:
    """Chapters of our prose; ``keys`` give each one more (``number``, ``part``, ``epigraph``), empty for none."""
    texts = chapters_of_prose(count, words=words, seed=seed)
    made: list[dict[str, Any]] = [{"title": titles[at], "paragraphs": text} for at, text in enumerate(texts)]
    for key, values in keys.items():
        for chapter, value in zip(made, values, strict=False):
            if value:
                chapter[key] = value
    return tuple(made)


def set_by_typst(design: Design, out: Path) -> Path:
    """Set the book, as a print file: what Typst links, as notes to their marks, is no longer linked."""
    inputs = _inputs(design, out.parent)
    typst.compile(SOURCE, output=out, root=Path("/"), sys_inputs=inputs)
    with pikepdf.open(out, allow_overwriting_input=True) as pdf:
        for page in pdf.pages:
            if "/Annots" in page:
                del page["/Annots"]
        if design.right_bound:
            pdf.Root.ViewerPreferences = pikepdf.Dictionary(Direction=pikepdf.Name.R2L)
        pdf.save(out)
    return out


def layout(design: Design) -> Layout:
    """Ask Typst where it has put things."""
    with tempfile.TemporaryDirectory() as folder:
        inputs = _inputs(design, Path(folder))
        found = json.loads(typst.query(SOURCE, "<spot>", field="value", root=Path("/"), sys_inputs=inputs))
    spots: dict[str, list[Spot]] = {"front": [], "opening": [], "plate": [], "start": [], "end": []}
    for each in found:
        spots[each.pop("kind")].append(Spot(**each))
    return Layout(
        front={spot.name: spot.page for spot in spots["front"]},
        openings=tuple(spot.page for spot in spots["opening"]),
        plates=tuple(spot.page for spot in spots["plate"]),
        starts={spot.name: spot for spot in spots["start"]},
        ends={spot.name: spot for spot in spots["end"]},
    )


def _inputs(design: Design, folder: Path) -> dict[str, str]:
    values = {each.name: getattr(design, each.name) for each in fields(design)}
    values["verso_head"] = design.verso_head or design.title
    if design.plates or "frontispiece" in design.front:
        picture = folder / "picture.png"
        Image.linear_gradient("L").resize((1250, 830)).save(picture)
        values["picture"] = str(picture)
    return {"design": json.dumps(values)}
