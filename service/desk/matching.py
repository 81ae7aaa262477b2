"""Which title a file belongs to, where that is sure: by an ISBN, or by a name that is one title's alone."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePath

from worker.book.isbn import as_thirteen, is_isbn13, isbns_in
from worker.report.models import Report
from worker.store import Title
from worker.store.titles import sought

__all__ = ["Clues", "Match", "clues_of", "isbn_in_name", "match", "match_by_number"]

_WORDS = re.compile(r"[^\W_]+")
_DIGITS = re.compile(r"(?<!\d)97[89](?:[-_ ]?\d){10}(?!\d)")
_OF_A_VERSION = re.compile(
    r"v?\d+[a-z]?|final|draft|proof|interior|inside|inner|block|print|press|book|text|new|copy|corrected"
)
"""Words that people add to a file's name without meaning the title (common practice, no source)."""
_BY_NUMBER = "By the ISBN in the file’s name."
_ARTICLES = {"the", "a", "an"}


@dataclass(frozen=True)
class Clues:
    """What a file says of the book that it is. ``titles`` are those of its title page and of the document."""

    file_name: str
    isbns: tuple[str, ...] = ()
    titles: tuple[str, ...] = ()


@dataclass(frozen=True)
class Match:
    """The title that a file surely belongs to, or None; ``why`` says by what, or what makes it unsure."""

    title: Title | None
    why: str


def clues_of(file_name: str, document_title: str | None = None, report: Report | None = None) -> Clues:
    """What is known of a file by its name, and by its report where it has been read."""
    book = report.book if report is not None else None
    isbns = book.imprint.isbns if book is not None and book.imprint is not None else ()
    titles = (book.title if book is not None else None, document_title)
    return Clues(file_name, isbns, tuple(title for title in titles if title))


def match(clues: Clues, titles: Sequence[Title]) -> Match:
    """Hold a file against all titles. It is sure where the ISBNs found are one title's; else where its names are."""
    by_isbn = [found for found in _by_isbn(clues, titles) if found[0]]
    by_name = [found for found in _by_name(clues, titles) if found[0]]
    for found in (by_isbn, by_name):
        candidates = {title.id: title for matched, _ in found for title in matched}
        if len(candidates) == 1:
            (title,) = candidates.values()
            return Match(title, found[0][1])
        if candidates:
            names = " and ".join(sorted({f"“{title.title}”" for title in candidates.values()}))
            return Match(None, f"It may be {names}." if len(candidates) == 2 else "It may be several of your titles.")
    return Match(None, _nothing(clues))


def match_by_number(file_name: str, titles: Sequence[Title]) -> Match:
    """The one title whose ISBN stands in a file's name: sure without a look into the file."""
    found = _numbered(titles, isbn_in_name(file_name))
    return Match(found[0], _BY_NUMBER) if len(found) == 1 else Match(None, "")


def isbn_in_name(file_name: str) -> Iterator[str]:
    """The numbers of thirteen digits in a file's name that have their check digit right."""
    for found in _DIGITS.finditer(file_name):
        digits = re.sub(r"\D", "", found[0])
        if is_isbn13(digits):
            yield digits
    for ten in isbns_in(file_name):
        if len(ten) == 10:
            yield as_thirteen(ten)


def _by_isbn(clues: Clues, titles: Sequence[Title]) -> Iterator[tuple[list[Title], str]]:
    inside = [as_thirteen(isbn) if len(isbn) == 10 else isbn for isbn in clues.isbns]
    yield _numbered(titles, isbn_in_name(clues.file_name)), _BY_NUMBER
    yield _numbered(titles, inside), "By the ISBN on its imprint page."


def _by_name(clues: Clues, titles: Sequence[Title]) -> Iterator[tuple[list[Title], str]]:
    for name in clues.titles:
        yield [title for title in titles if _alike(name, title)], "By the title in the file."
    stem = PurePath(clues.file_name).stem
    exactly = [title for title in titles if _words(stem) == _words(title.title)]
    yield exactly or [title for title in titles if _named_for(stem, title)], "By the file’s name."


def _numbered(titles: Sequence[Title], isbns: Iterable[str]) -> list[Title]:
    wanted = set(isbns)
    return [title for title in titles if title.isbn in wanted]


def _alike(name: str, title: Title) -> bool:
    """Whether two titles are the same, their subtitles apart."""
    return bool(_without_subtitle(name)) and (
        _words(name) == _words(title.title) or _without_subtitle(name) == _without_subtitle(title.title)
    )


def _named_for(stem: str, title: Title) -> bool:
    """Whether a file's name is the title's words, with or without the author's, and words of a version."""
    words = [word for word in _words(stem) if not _OF_A_VERSION.fullmatch(word)]
    author = set(_words(title.author))
    for wanted in (_words(title.title), _without_subtitle(title.title)):
        bare = [word for word in wanted if not _OF_A_VERSION.fullmatch(word)]
        if bare and (words == bare or [word for word in words if word not in author - set(bare)] == bare):
            return True
    return False


def _words(text: str) -> list[str]:
    words = _WORDS.findall(sought(text.replace("_", " ").replace("’", "").replace("'", "")))
    return words[1:] if len(words) > 1 and words[0] in _ARTICLES else words


def _without_subtitle(text: str) -> list[str]:
    return _words(re.split(r":|\s[-–—]\s", text, maxsplit=1)[0])


def _nothing(clues: Clues) -> str:
    if clues.isbns:
        return f"The ISBN on its imprint page, {clues.isbns[0]}, is that of no title of yours that takes files."
    return "Neither an ISBN nor a title in it is that of one of yours."
