"""Contents pages set in the ways in which books set them, and pages that only look like them.

How a contents is set is common practice, no source: leaders or none, numbers at the right edge, after the title or
before it, titles over several rows, parts without a number. No word tells any of them here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.book.made import FOOT, HEAD, centred, edges, leaves, line, page, text_lines
from tests.book.truth import untold
from tests.corpora import CORPORA, corpus_parameters
from tests.measured import facts_of
from worker.book import read_book
from worker.book.block import text_block
from worker.book.contents import contents_lists
from worker.book.contents_rows import number_after, number_before
from worker.book.folios import folios
from worker.book.grid import setting_of
from worker.book.heads import bodies_of
from worker.book.models import ContentsList, NotRead
from worker.book.numerals import to_roman
from worker.measure.models import Line, Page

PREFACE = ("Előszó", "vii")
CHAPTERS = (
    ("The Tide Book", 1), ("Két kikötő", 8), ("Ο φάρος", 15), ("Paper and Tar", 22), ("Low Water", 29),
    ("The Empty Page", 36), ("What the Harbourmaster’s Daughter Wrote Down in the Winter of the Long Ice", 43),
    ("Slack", 50),
)  # fmt: skip
FRONT = 10
"""Pages before folio 1, counted in roman numerals."""
PAGES = FRONT + 60
NUMBERS = [number for _, number in CHAPTERS]

Entries = Sequence[tuple[str, str]]
Layout = Callable[[int, Entries], list[Line]]
"""The lines of a page of the contents from its number and its entries."""


def _heading(title: str, number: int, *, size: float = 18.0) -> list[Line]:
    """A title at the head of a page, broken after every thirty letters or so."""
    rows = [""]
    for word in title.split():
        if len(rows[-1]) + len(word) > 30:
            rows.append("")
        rows[-1] = f"{rows[-1]} {word}".strip()
    return [centred(row, 560 - 22 * at, size=size) for at, row in enumerate(rows)]


def _pages(chapters: Sequence[tuple[str, int]] = CHAPTERS) -> dict[int, Page]:
    """A book whose chapters open on these folios, a preface on vii, and no contents yet."""
    opened = {FRONT + number: title for title, number in chapters} | {7: PREFACE[0]}
    made = {}
    for number in range(1, PAGES + 1):
        folio = str(number - FRONT) if number > FRONT else to_roman(number)
        if number in opened:
            lines = [*(_heading(opened[number], number) if opened[number] else []), *text_lines(number, 22, first=400)]
        elif number < 7:
            lines = []
        else:
            lines = [centred("The Salt Road", HEAD), *text_lines(number)]
        made[number] = page(number, [*lines, centred(folio, FOOT)] if lines else [])
    return made


def _read(
    pages: dict[int, Page], *, plates: frozenset[int] = frozenset()
) -> tuple[tuple[ContentsList, ...], NotRead | None]:
    book = leaves(pages[number] for number in sorted(pages))
    block = text_block(book)
    printed = folios(book, block)
    bodies = bodies_of(book, block, printed)
    setting = setting_of(bodies)
    assert setting is not None
    bear: dict[str, list[int]] = {}
    for number, folio in sorted(printed.items()):
        bear.setdefault(folio.text, []).append(number)
    return contents_lists(bodies, setting, block, bear, plates)


def _with(contents: dict[int, list[Line]], chapters: Sequence[tuple[str, int]] = CHAPTERS) -> dict[int, Page]:
    made = _pages(chapters)
    return made | {
        number: page(number, [*lines, centred(to_roman(number), FOOT)]) for number, lines in contents.items()
    }


def _rows(first: float = 540.0, step: float = 18.0) -> list[float]:
    return [first - step * at for at in range(30)]


def _leaders(dots: str) -> Layout:
    def layout(at: int, entries: Entries) -> list[Line]:
        left, right = edges(at)
        return [
            line(f"{title} {dots} {number}", left, y, x1=right)
            for (title, number), y in zip(entries, _rows(), strict=False)
        ]

    return layout


def _at_the_edge(at: int, entries: Entries) -> list[Line]:
    left, right = edges(at)
    made = []
    for (title, number), y in zip(entries, _rows(), strict=False):
        made += [line(title[:60], left, y, x1=left + 250), line(number, right - 5.2 * len(number), y, x1=right)]
    return made


def _dots_apart(at: int, entries: Entries) -> list[Line]:
    left, _ = edges(at)
    dots = [line(". . . . . . . .", left + 260, y, x1=left + 330) for _, y in zip(entries, _rows(), strict=False)]
    return [*_at_the_edge(at, entries), *dots]


def _run_on(between: str) -> Layout:
    def layout(at: int, entries: Entries) -> list[Line]:
        left, _ = edges(at)
        return [
            line(f"{title}{between}{number}", left, y) for (title, number), y in zip(entries, _rows(), strict=False)
        ]

    return layout


def _before(at: int, entries: Entries) -> list[Line]:
    left, _ = edges(at)
    made = []
    for (title, number), y in zip(entries, _rows(), strict=False):
        made += [line(number, left, y), line(title[:60], left + 50, y)]
    return made


def _on_axis(at: int, entries: Entries) -> list[Line]:
    return [centred(f"{title} · {number}", y) for (title, number), y in zip(entries, _rows(), strict=False)]


def _wrapped(hang: float) -> Layout:
    """Long titles in three rows, with the number in the last."""

    def layout(at: int, entries: Entries) -> list[Line]:
        left, right = edges(at)
        made, y = [], 560.0
        for title, number in entries:
            words = title.split()
            parts = [" ".join(words[start : start + 5]) for start in range(0, len(words), 5)]
            for count, part in enumerate(parts):
                x0, is_last = left + (hang if count else 0), count == len(parts) - 1
                text = f"{part} . . . . . {number}" if is_last else part
                made.append(line(text, x0, y, x1=right if is_last else None))
                y -= 14
            y -= 6
        return made

    return layout


def _between_parts(at: int, entries: Entries) -> list[Line]:
    """Parts without a number, in the entries' own type, and in a larger one."""
    left, right = edges(at)
    made, y = [], 560.0
    for count, (title, number) in enumerate(entries):
        if count in (1, 4):
            made.append(line(f"Part {1 + count // 4}", left, y, size=13 if count == 4 else 10.5))
            y -= 20
        made.append(line(f"{title} . . . {number}", left + 12, y, x1=right))
        y -= 14
    return made


def _with_authors(at: int, entries: Entries) -> list[Line]:
    left, right = edges(at)
    made, y = [], 570.0
    for title, number in entries:
        made.append(line(f"{title} . . . {number}", left, y, x1=right))
        made.append(line("Vesna of the Low Pier", left + 14, y - 13, font="Tern Serif Italic"))
        y -= 34
    return made


def _two_columns(at: int, entries: Entries) -> list[Line]:
    left, right = edges(at)
    half = (len(entries) + 1) // 2
    starts = ((left, entries[:half]), (left + (right - left) / 2 + 10, entries[half:]))
    made = []
    for x0, column in starts:
        for (title, number), y in zip(column, _rows(), strict=False):
            made.append(line(f"{title[:22]} . . {number}", x0, y, x1=x0 + 150))
    return made


LAYOUTS: dict[str, Layout] = {
    "spaced leaders": _leaders(". . . . . . . ."),
    "leaders set close": _leaders("............"),
    "leaders of middle dots": _leaders("· · · · ·"),
    "a rule of low lines": _leaders("________"),
    "no leaders, at the edge": _at_the_edge,
    "leaders as runs of their own": _dots_apart,
    "after a comma": _run_on(", "),
    "after an em space": _run_on("\u2003"),
    "after an abbreviation": _run_on(", p. "),
    "before the titles": _before,
    "on the axis": _on_axis,
    "titles over several rows": _wrapped(0),
    "titles over several rows, indented": _wrapped(14),
    "parts without a number": _between_parts,
    "authors below": _with_authors,
    "two columns": _two_columns,
}

ENTRIES: list[tuple[str, str]] = [PREFACE, *((title, str(number)) for title, number in CHAPTERS)]
TARGETS = [7, *(FRONT + number for number in NUMBERS)]


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS.keys())
@pytest.mark.parametrize("title", ["Tartalom", None])
def test_a_contents_however_it_is_set(layout: Layout, title: str | None) -> None:
    above = [centred(title, 600, size=16)] if title else []
    lists, not_read = _read(_with({5: [*above, *layout(5, ENTRIES)]}))
    assert not_read is None
    (contents,) = lists
    assert (contents.kind, contents.title, contents.pages) == ("contents", title, (5,))
    assert [entry.number for entry in contents.entries] == [number for _, number in ENTRIES]
    assert [entry.target for entry in contents.entries] == TARGETS
    assert [entry.heading for entry in contents.entries] == TARGETS
    assert {entry.level for entry in contents.entries} == {0}
    assert all(entry.text.startswith(name[:20]) for entry, (name, _) in zip(contents.entries, ENTRIES, strict=True))


@pytest.mark.parametrize("hang", [0, 14])
def test_rows_of_a_title_are_one_text(hang: float) -> None:
    (contents,), _ = _read(_with({5: _wrapped(hang)(5, ENTRIES)}))
    assert [entry.text for entry in contents.entries] == [title for title, _ in ENTRIES]


def test_over_several_pages_with_what_runs_around_them() -> None:
    """Six entries a page, a running head and a folio on each, and the last page with a single one."""
    many = [(f"Tide {number}", number) for number in range(1, 58, 4)][:13]
    chapters = [(f"{title} of {_name(number)}", number) for title, number in many]
    shown = [(title, str(number)) for title, number in chapters]
    pages = {
        at: [*_leaders(". . . .")(at, shown[start : start + 6]), centred("What is in it", HEAD)]
        for at, start in ((4, 0), (5, 6), (6, 12))
    }
    (contents,), _ = _read(_with(pages, chapters))
    assert contents.pages == (4, 5, 6)
    assert [entry.number for entry in contents.entries] == [str(number) for _, number in chapters]
    assert all(entry.heading == entry.target for entry in contents.entries)


def _name(number: int) -> str:
    return "".join("zwdvfqshac"[int(digit)] for digit in str(number))


def test_at_the_end_of_the_book() -> None:
    made = _pages()
    made[PAGES + 1] = page(PAGES + 1, [*_leaders(". . .")(PAGES + 1, ENTRIES[1:]), centred(str(61), FOOT)])
    (contents,), _ = _read(made)
    assert contents.pages == (PAGES + 1,)
    assert [entry.heading for entry in contents.entries] == TARGETS[1:]


def test_levels_by_indent_and_by_numbers() -> None:
    """Sections of chapters: by their indent alone, and by numbers where wide ones start further left."""
    left, right = edges(5)
    names = [("Tide", 1), ("Ebb", 2), ("Flood", 4), ("Pier", 8), ("Mole", 9), ("Quay", 12)]
    numbers = ["9", "9.9", "9.10", "10", "10.1", "10.2"]
    made = _pages()
    for name, number in names:
        at = FRONT + number
        lines = [centred(name, 560, size=18), *text_lines(at, 20, first=400), centred(str(number), FOOT)]
        made[at] = page(at, lines)
    deep = [0, 1, 1, 0, 1, 1]
    by_indent = [
        line(f"{name} . . . {number}", left + 12 * level, y, x1=right)
        for (name, number), level, y in zip(names, deep, _rows(), strict=False)
    ]
    by_number = [
        line(f"{count} {name} . . . {number}", left + 9 * (3 - len(count)), y, x1=right)
        for (name, number), count, y in zip(names, numbers, _rows(), strict=False)
    ]
    for lines in (by_indent, by_number):
        (contents,), _ = _read(made | {5: page(5, [*lines, centred("v", FOOT)])})
        assert [entry.level for entry in contents.entries] == deep


def test_headings_are_known_however_they_are_numbered() -> None:
    """A word and a number in the contents, the number alone above the title in the book; and small capitals."""
    made = _pages()
    for count, (title, number) in enumerate(CHAPTERS, 1):
        at = FRONT + number
        lines = [centred(str(count), 590, size=14), *_heading(title.upper(), at), *text_lines(at, 20, first=400)]
        made[at] = page(at, [*lines, centred(str(number), FOOT)])
    shown = [(f"Kapitel {count}: {title}", str(number)) for count, (title, number) in enumerate(CHAPTERS, 1)]
    (contents,), _ = _read(made | {5: page(5, _leaders(". . .")(5, shown))})
    assert [entry.heading for entry in contents.entries] == TARGETS[1:]


@pytest.mark.parametrize(
    "layout", ["spaced leaders", "after a comma", "no leaders, at the edge", "titles over several rows"]
)
@pytest.mark.parametrize("wrong", ["31", "21", "2"])
def test_an_entry_with_a_wrong_number_is_read_as_it_is(layout: str, wrong: str) -> None:
    """Low Water opens on 29, and the contents says otherwise: out of order, or before its place."""
    shown = [(title, wrong if title == "Low Water" else number) for title, number in ENTRIES]
    (contents,), _ = _read(_with({5: LAYOUTS[layout](5, shown)}))
    astray = [entry for entry in contents.entries if entry.heading != entry.target]
    assert [(entry.text, entry.number, entry.target, entry.heading) for entry in astray] == [
        ("Low Water", wrong, FRONT + int(wrong), FRONT + 29)
    ]


@pytest.mark.parametrize("off", [1, 2, 4])
def test_a_contents_that_was_not_set_anew(off: int) -> None:
    """All numbers are those of an earlier state of the book."""
    shown = [(title, str(int(number) + off)) for title, number in ENTRIES[1:]]
    (contents,), _ = _read(_with({5: _leaders(". . .")(5, shown)}))
    assert [entry.heading for entry in contents.entries] == TARGETS[1:]
    assert [entry.target for entry in contents.entries] == [target + off for target in TARGETS[1:]]


def test_a_stray_entry_has_no_heading() -> None:
    shown = sorted([*ENTRIES[1:], ("A line that was styled by mistake", "17")], key=lambda entry: int(entry[1]))
    (contents,), _ = _read(_with({5: _leaders(". . .")(5, shown)}))
    assert [entry.text for entry in contents.entries if entry.heading is None] == ["A line that was styled by mistake"]


def test_words_of_a_title_in_the_text_are_no_heading() -> None:
    """The next pages begin lines with the very words, in the text's type."""
    made = _with({5: _leaders(". . .")(5, [(t, "31" if t == "Slack" else n) for t, n in ENTRIES])})
    at = FRONT + 31
    lines = [centred("The Salt Road", HEAD), *text_lines(at), centred("31", FOOT)]
    lines[9] = line("Slack is what the pilots call it, when", edges(at)[0], lines[9].baseline, x1=edges(at)[1])
    (contents,), _ = _read(made | {at: page(at, lines)})
    assert contents.entries[-1].heading == FRONT + 50


def test_words_on_a_plate_are_a_heading_only_where_an_entry_leads_there() -> None:
    """A chapter's title above a picture, and a shop sign in another picture."""
    at, sign = FRONT + 29, FRONT + 30
    wrong = _leaders(". . .")(5, [(title, "31" if title == "Slack" else number) for title, number in ENTRIES])
    made = _with({5: wrong}) | {at: page(at, [centred("Low Water", 560, size=18), centred("29", FOOT)]),
                                sign: page(sign, [centred("SLACK", 400, size=30)])}  # fmt: skip
    (contents,), _ = _read(made, plates=frozenset((at, sign)))
    assert [entry.heading for entry in contents.entries] == TARGETS


def test_lists_of_figures_are_told_apart() -> None:
    """On a page of their own, and below the contents on its page: their entries are captions."""
    figures = [(f"{count}.1 A chart of the {name} light", str(number)) for count, (name, number) in enumerate(
        [("outer", 3), ("inner", 9), ("upper", 17), ("lower", 30)], 1)]  # fmt: skip
    made = _with({4: [centred("Tartalom", 600, size=16), *_leaders(". . .")(4, ENTRIES[1:])]})
    below = [line(each.text, each.box[0], each.baseline - 220, x1=each.box[2]) for each in _leaders(". .")(4, figures)]
    apart = {5: page(5, [centred("Ábrák", 600, size=16), *_leaders(". .")(5, figures), centred("v", FOOT)])}
    same = {4: page(4, [*made[4].lines, centred("Ábrák", 345, size=16), *below])}
    for pages, at in ((apart, 5), (same, 4)):
        (contents, figures_list), _ = _read(made | pages)
        assert (contents.kind, len(contents.entries)) == ("contents", len(CHAPTERS))
        assert (figures_list.kind, figures_list.title, figures_list.pages) == ("list", "Ábrák", (at,))
        assert [entry.number for entry in figures_list.entries] == [number for _, number in figures]


def test_captions_that_are_listed_word_for_word() -> None:
    """As word processors list them: the very captions, which stand in italics in the book."""
    figures = [(f"{count}. ábra: A chart of the {name} light", number) for count, (name, number) in enumerate(
        [("outer", 3), ("inner", 9), ("upper", 17), ("lower", 30)], 1)]  # fmt: skip
    made = _with({4: _leaders(". . .")(4, ENTRIES[1:])})
    for caption, number in figures:
        lines = list(made[FRONT + number].lines)
        lines[9] = line(caption, edges(number)[0], lines[9].baseline, size=9, font="Tern Serif Italic")
        made[FRONT + number] = page(FRONT + number, lines)
    listed = _leaders(". . .")(5, [(caption, str(number)) for caption, number in figures])
    (contents, captions), _ = _read(made | {5: page(5, [centred("Ábrák", 600, size=16), *listed])})
    assert (contents.kind, captions.kind) == ("contents", "list")
    assert [entry.heading for entry in captions.entries] == [FRONT + number for _, number in figures]


def _index(at: int) -> list[Line]:
    left, _ = edges(at)
    terms = ["anchor, 12", "bell, 3, 40", "buoy, 31", "chart, 5", "drift, 55", "ebb, 9, 12", "fog, 44", "gale, 2",
             "harbour, 30", "ice, 17", "jetty, 8", "keel, 51"]  # fmt: skip
    return [line(term, left, y) for term, y in zip(terms, _rows(), strict=False)]


def _tides(at: int) -> list[Line]:
    left, right = edges(at)
    return [
        line(f"{hour} o’clock . . . {hour * 3}", left, y, x1=right)
        for hour, y in zip(range(1, 13), _rows(), strict=False)
    ]


def _bibliography(at: int) -> list[Line]:
    left, right = edges(at)
    return [
        line(f"Tern Island Press, the year of the tide {year}", left, y, x1=right)
        for year, y in zip(range(1901, 1913), _rows(), strict=False)
    ]


def _chapters_by_number(at: int) -> list[Line]:
    """A list of chapters that gives no page numbers."""
    left, _ = edges(at)
    return [
        line(f"{count} {title[:40]}", left, y)
        for count, ((title, _), y) in enumerate(zip(CHAPTERS, _rows(), strict=False), 1)
    ]


@pytest.mark.parametrize("made", [_index, _tides, _bibliography, _chapters_by_number])
@pytest.mark.parametrize("at", [5, PAGES])
def test_what_only_looks_like_a_contents(made: Callable[[int], list[Line]], at: int) -> None:
    lists, _ = _read(_pages() | {at: page(at, made(at))})
    assert lists == ()


def test_what_could_not_be_read_is_said() -> None:
    """The chapters' titles are drawn, not set: none of the entries has a heading."""
    bare = [("", number) for _, number in CHAPTERS]
    lists, not_read = _read(_with({5: _leaders(". . .")(5, ENTRIES[1:])}, bare))
    assert lists == ()
    assert not_read is not None
    assert not_read.what == "contents"


def test_a_book_without_a_contents_has_none() -> None:
    assert _read(_pages()) == ((), None)


def test_entries_that_run_on_in_one_row() -> None:
    """Below a chapter, its sections one after the other, over two rows (as memoir's manual sets them); a comma and a
    number in a title part nothing."""
    left, right = edges(5)
    sections = [("Logs of 2, of 3", 22), ("Nets", 23), ("Ropes", 24), ("Tar", 25)]
    made = _pages()
    for name, number in sections[1:]:
        lines = list(made[FRONT + number].lines)
        lines[10] = line(name, left, lines[10].baseline, font="Tern Serif Bold")
        made[FRONT + number] = page(FRONT + number, lines)
    shown = [(title, number) for title, number in ENTRIES[1:] if title != "Paper and Tar"]
    rows = _leaders(". . .")(5, [*shown[:3], ("Logs of 2, of 3", "22")])
    rows += [line("Nets 23, Ropes 24, The", left + 20, 460), line("Tar 25", left + 20, 446)]
    rows += [
        line(f"{title} . . . {number}", left, 420 - 18 * at, x1=right) for at, (title, number) in enumerate(shown[3:])
    ]
    (contents,), _ = _read(made | {5: page(5, rows)})
    assert [(entry.text, entry.number) for entry in contents.entries][3:7] == [
        ("Logs of 2, of 3", "22"), ("Nets", "23"), ("Ropes", "24"), ("The Tar", "25")
    ]  # fmt: skip


WORDS = st.lists(st.text("abcdefghijklmnopqrstuvwxyzöéß’", min_size=2, max_size=9), min_size=1, max_size=8)
LEADERS = st.sampled_from([" ", "  ", " . . . ", "......", " … ", "\u2003", ", ", " — ", " · ", "____", ", S. "])


@given(WORDS, LEADERS, st.integers(1, 9999))
def test_whatever_leads_to_a_number_is_no_part_of_the_title(words: list[str], between: str, value: int) -> None:
    title, number = number_after(f"{' '.join(words)}{between}{value}")
    assert number is not None
    assert number.value == value
    assert title == " ".join(words) or words[-1] in ("s", "p", "pp", "str", "pag", "pág")


def test_numbers_at_the_ends_of_rows() -> None:
    assert number_after("Version 2.1")[1] is None
    assert number_after("1914–18")[1] is None
    assert number_after("Half past 12:30")[1] is None
    assert number_after("goes on 90,")[1] is None
    title, number = number_after("In 1914 . . . . 12")
    assert (title, number and number.value) == ("In 1914", 12)
    title, number = number_after("Vorwort  S. ix")
    assert (title, number and number.value) == ("Vorwort", 9)
    assert number_before("2.1 Tides")[1] is None
    title, number = number_before("21 Tides")
    assert (title, number and number.value) == ("Tides", 21)


def test_rows_without_end_take_no_time() -> None:
    """A row of leaders as long as a book."""
    assert number_after("." * 1_000_000 + " 12")[1] is None


@pytest.mark.parametrize("path", corpus_parameters(*CORPORA))
def test_every_entry_of_a_real_contents_finds_its_heading(path: Path) -> None:
    """The files' own outlines, which the reading is not given, say where headings are; these manuals list no other
    page than the one where the heading stands."""
    read = read_book(untold(facts_of(path)))
    contents = [each for each in read.contents if each.kind == "contents"]
    assert contents
    assert [
        (entry.text, entry.number) for each in contents for entry in each.entries if entry.heading != entry.target
    ] == []
    for each in contents:
        values = [entry.target for entry in each.entries if entry.target is not None]
        assert len(values) == len(each.entries)
        assert all(before <= after for before, after in pairwise(values))
