"""The words of a page beside those that poppler's ``pdftotext`` finds, whatever their order."""

from __future__ import annotations

import subprocess
import unicodedata
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from worker.measure.models import Page

Words = Counter[str]


@dataclass(frozen=True)
class Agreement:
    """The words of one page: how many both have, and which only one of them has."""

    page: int
    common: int
    letters_in_common: int
    only_ours: Words
    only_theirs: Words

    @property
    def total(self) -> int:
        """Twice the words of the page, where both agree."""
        return 2 * self.common + self.only_ours.total() + self.only_theirs.total()

    @property
    def letters(self) -> float:
        """The share of letters that both have: what is left of a disagreement where words are only cut elsewhere."""
        ours, theirs = _letters(self.only_ours), _letters(self.only_theirs)
        apart = (ours - theirs).total() + (theirs - ours).total()
        return 1 - apart / (2 * self.letters_in_common + ours.total() + theirs.total() or 1)

    @property
    def share(self) -> float:
        return 2 * self.common / self.total if self.total else 1.0


def words_by_poppler(path: Path) -> list[Words]:
    """The words of every page, as ``pdftotext -layout`` has them: without that, it takes words together again that are
    divided at the end of a line."""
    command = ["pdftotext", "-layout", str(path), "-"]
    said = subprocess.run(command, check=True, capture_output=True, timeout=240).stdout.decode("utf-8", "replace")
    return [Counter(_words(page)) for page in said.split("\f")[:-1]]


def words_of(page: Page) -> Words:
    """The words of a measured page's lines."""
    return Counter(word for line in page.lines for word in _words(line.text))


def _words(text: str) -> list[str]:
    """Words with their letters as Unicode normalises them (NFKC): ligatures taken apart, accents put on. A soft hyphen
    that is drawn is a hyphen; what is no letter (codes that no map turns into one, private ones, marks of direction) is
    left out."""
    text = unicodedata.normalize("NFKC", text.replace("\u00ad", "-"))
    return "".join(letter for letter in text if letter.isspace() or _is_letter(letter)).split()


def _is_letter(letter: str) -> bool:
    return letter != "\ufffd" and unicodedata.category(letter) not in ("Cc", "Cf", "Co", "Cn", "Cs")


def agreement(page: Page, theirs: Words) -> Agreement:
    """What the words of a measured page and poppler's have in common."""
    ours = words_of(page)
    both = ours & theirs
    return Agreement(page.page, both.total(), _letters(both).total(), ours - theirs, theirs - ours)


def _letters(words: Words) -> Words:
    letters: Words = Counter()
    for word, times in words.items():
        for letter in word:
            letters[letter] += times
    return letters
