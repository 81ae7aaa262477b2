"""Trade words, each explained once for a reader from outside the trade, at the first place where it is used.

The words are those of the trade (handbooks differ on widow and orphan: see ``worker.book.paragraphs``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from markupsafe import Markup

from worker.report.words import shown

TERMS = {
    "bleed": "Ink that runs past the edge where the page is cut, so that no white shows when the cut is a little off.",
    "CMYK": "Cyan, magenta, yellow and black: the four inks of colour printing.",
    "colour profile": "A small file that tells how colours come out on one press and paper.",
    "contents": "The list of chapters at the front, with the pages where they start.",
    "embedded": "Carried within the PDF itself. A font that is not is replaced by whatever the printer has.",
    "folio": "The page number that is printed on the page; it may differ from the page’s place in the file.",
    "gutter": "The part of the inside margin that is lost in the binding, or given to make up for it.",
    "half title": "A first page that bears the title alone, before the title page.",
    "imprint page": "The page with copyright, edition and ISBN, usually on the back of the title page.",
    "inside margin": "The white between the text and the spine: at the left of one page, at the right of the next.",
    "leading": "The distance from one line to the next.",
    "live area": "The part of the page that is safe for text: all of it but the margins that the printer asks for.",
    "mirrored margins": "Margins that change sides from page to page, so that the wide one always lies at the spine.",
    "opening": "The page where a chapter or a part starts.",
    "orphan": "The first line of a paragraph alone at the foot of a page.",
    "output intent": "The part of a PDF that names the paper and inks it was made for.",
    "outside margin": "The white between the text and the outer edge of the page.",
    "PDF/X": "A standard for PDFs that go to a printer.",
    "ppi": "Pixels an inch: how finely a picture is printed at its size on the page.",
    "RGB": "Colours mixed of red, green and blue light, as on a screen.",
    "recto": "A right-hand page; in a book that is bound on the left it has an odd number.",
    "running head": "The line above the text that names the book or the chapter.",
    "sinkage": "How far below the head of the page a chapter starts.",
    "spot colour": "An ink of its own, mixed for one job.",
    "spine": "The bound edge.",
    "transparency": "Something in the file that is seen through, as a soft shadow is.",
    "trimmed": "Cut to the size of the finished book.",
    "verso": "A left-hand page.",
    "widow": "The last line of a paragraph alone at the head of a page.",
}
"""Each word as the report writes it, and what it means."""

_WORDS = {word.casefold(): word for word in TERMS}
_ANY = re.compile(r"\b(" + "|".join(sorted(map(re.escape, TERMS), key=len, reverse=True)) + r")s?\b", re.IGNORECASE)


class Glossary:
    """The words that one report uses, gathered while it is set."""

    def __init__(self) -> None:
        self._used: set[str] = set()

    def explained(self, text: str) -> Markup:
        """The text, made safe and escaped, with a link to the glossary at each word that was not used before."""
        done, at = Markup(""), 0
        for found in _ANY.finditer(safe := shown(text)):
            done += safe[at : found.start()] + self._marked(found)
            at = found.end()
        return done + safe[at:]

    def entries(self) -> Iterator[tuple[str, str, str]]:
        """The id, the word and its meaning, in the order of the alphabet."""
        for word in sorted(self._used, key=str.casefold):
            yield _id(word), word, TERMS[word]

    def _marked(self, found: re.Match[str]) -> str:
        word = _WORDS[found[1].casefold()]
        if word in self._used:
            return found[0]
        self._used.add(word)
        return Markup('<a class="term" href="#{}">{}</a>').format(_id(word), found[0])


def _id(word: str) -> str:
    return "word-" + re.sub(r"\W", "-", word.casefold())
