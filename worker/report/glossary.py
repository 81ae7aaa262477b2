"""Trade words, each explained once for a reader from outside the trade, at the first place where it is used.

The words are those of the trade (handbooks differ on widow and orphan: see ``worker.book.paragraphs``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from markupsafe import Markup

from worker.report.words import shown
from worker.words import Catalogue, in_force


@dataclass(frozen=True)
class Terms:
    """The words of one language: ``meanings`` by the word as a report writes it, and a pattern that finds any."""

    meanings: Mapping[str, str]
    pattern: re.Pattern[str]

    def word(self, written: str) -> str:
        """The word that was found, as the glossary writes it."""
        return next(word for word in self.meanings if word.casefold() == written.casefold())


def terms() -> Terms:
    """Those of the language in force."""
    return _terms(in_force())


@cache
def _terms(catalogue: Catalogue) -> Terms:
    tables = [f"glossary.words.{name}" for name in catalogue.names("glossary.words")]
    meanings = {catalogue.text(f"{table}.word"): catalogue.text(f"{table}.meaning") for table in tables}
    longest_first = sorted(map(re.escape, meanings), key=len, reverse=True)
    plural = re.escape(catalogue.text("glossary.plural"))
    return Terms(meanings, re.compile(rf"\b({'|'.join(longest_first)})(?:{plural})?\b", re.IGNORECASE))


class Glossary:
    """The words that one report uses, gathered while it is set."""

    def __init__(self) -> None:
        self._terms = terms()
        self._used: set[str] = set()

    def explained(self, text: str) -> Markup:
        """The text, made safe and escaped, with a link to the glossary at each word that was not used before."""
        done, at = Markup(""), 0
        for found in self._terms.pattern.finditer(safe := shown(text)):
            done += safe[at : found.start()] + self._marked(found)
            at = found.end()
        return done + safe[at:]

    def entries(self) -> Iterator[tuple[str, str, str]]:
        """The id, the word and its meaning, in the order of the alphabet."""
        for word in sorted(self._used, key=str.casefold):
            yield _id(word), word, self._terms.meanings[word]

    def _marked(self, found: re.Match[str]) -> str:
        word = self._terms.word(found[1])
        if word in self._used:
            return found[0]
        self._used.add(word)
        return Markup('<a class="term" href="#{}">{}</a>').format(_id(word), found[0])


def _id(word: str) -> str:
    return "word-" + re.sub(r"\W", "-", word.casefold())
