"""What is gathered while pages are read, by one reader or by several that share a book."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass, field

from worker.measure.active import Acting
from worker.measure.geometry import Box
from worker.measure.limits import LimitReached
from worker.measure.models import Annotation, Font, FontKind, Image, Link, MissingGlyphs, Page, Place

MOST_PLACES = 12
"""Pages on which a font's first place is kept: as many as a finding shows."""
MOST_LETTERS = 24
"""Missing letters of a font that are kept."""


@dataclass
class MissingSeen:
    """Glyphs that a font has not, in the order of pages."""

    count: int = 0
    pages: list[int] = field(default_factory=list)
    places: list[Place] = field(default_factory=list)
    letters: dict[str, None] = field(default_factory=dict)

    def note(self, page: int, box: Box, letter: str) -> None:
        """One is shown in ``box`` on this page, which is the latest."""
        self.count += 1
        if not self.pages or self.pages[-1] != page:
            self.pages.append(page)
            if len(self.places) < MOST_PLACES:
                self.places.append(Place(page=page, box=box))
        if letter and len(self.letters) < MOST_LETTERS:
            self.letters[letter] = None

    def add(self, later: MissingSeen) -> None:
        """The same on later pages."""
        self.count += later.count
        self.pages += later.pages
        self.places = (self.places + later.places)[:MOST_PLACES]
        self.letters = dict.fromkeys([*self.letters, *later.letters][:MOST_LETTERS])

    def facts(self) -> MissingGlyphs | None:
        if not self.count:
            return None
        return MissingGlyphs(
            count=self.count, pages=tuple(self.pages), places=tuple(self.places), letters=tuple(self.letters)
        )


@dataclass
class FontSeen:
    """A font and where it paints glyphs, in the order of pages; sizes in points."""

    name: str
    kind: FontKind
    embedded: bool
    subset: bool
    restricted: bool | None
    pages: list[int] = field(default_factory=list)
    places: list[Place] = field(default_factory=list)
    missing: MissingSeen = field(default_factory=MissingSeen)
    least: float = math.inf
    most: float = 0.0

    def note(self, page: int, box: Box, size: float) -> None:
        """It paints in ``box`` on this page, which is the latest."""
        if not self.pages or self.pages[-1] != page:
            self.pages.append(page)
            if len(self.places) < MOST_PLACES:
                self.places.append(Place(page=page, box=box))
        self.least, self.most = min(self.least, size), max(self.most, size)

    def add(self, later: FontSeen) -> None:
        """The same font on later pages."""
        self.pages += later.pages
        self.places = (self.places + later.places)[:MOST_PLACES]
        self.missing.add(later.missing)
        self.least, self.most = min(self.least, later.least), max(self.most, later.most)

    def facts(self) -> Font:
        return Font(
            name=self.name,
            kind=self.kind,
            embedded=self.embedded,
            subset=self.subset,
            restricted=self.restricted,
            pages=tuple(self.pages),
            sizes=(self.least, self.most),
            places=tuple(self.places),
            missing=self.missing.facts(),
        )


@dataclass
class Gathered:
    """The facts of a range of pages. Fonts go by their object in the file."""

    pages: list[Page] = field(default_factory=list)
    images: list[Image] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    annotations: list[Annotation] = field(default_factory=list)
    fonts: dict[Hashable, FontSeen] = field(default_factory=dict)
    repairs: list[str] = field(default_factory=list)
    acting: list[Acting] = field(default_factory=list)
    crossed: list[LimitReached] = field(default_factory=list)
    """The limits of a page that pages crossed."""

    def add(self, later: Gathered) -> None:
        """What was gathered from the pages after these."""
        self.pages += later.pages
        self.images += later.images
        self.links += later.links
        self.annotations += later.annotations
        self.repairs += later.repairs
        self.acting += later.acting
        self.crossed += later.crossed
        for key, seen in later.fonts.items():
            if key in self.fonts:
                self.fonts[key].add(seen)
            else:
                self.fonts[key] = seen

    def font_facts(self) -> tuple[Font, ...]:
        """The fonts by name and by page."""
        return tuple(sorted((seen.facts() for seen in self.fonts.values()), key=lambda font: (font.name, font.pages)))
