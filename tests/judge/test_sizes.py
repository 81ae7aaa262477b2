"""Odd books: spreads, covers, tables on their side, counts that do not fill the sheets, files of blanks.

Sizes by hand, 1 in = 72 pt; that programs write such files is common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.judge.factory import PROFILE, book, page, profile, sound
from worker.judge import judge
from worker.judge.live_area import live_area
from worker.judge.models import Finding, Judgement, Weight
from worker.measure.models import Page, Reach
from worker.profiles import Profile, parse_profile_toml

SHARED = 'trims = [{ name = "Trade", width = "6 in", height = "9 in" }]'


def offering(*sizes: tuple[str, str]) -> Profile:
    trims = ", ".join(f'{{ width = "{width}", height = "{height}" }}' for width, height in sizes)
    return parse_profile_toml(PROFILE.replace(SHARED, f"trims = [{trims}]"))


def counting(**counts: int) -> Profile:
    told = ", ".join(f"{key} = {value}" for key, value in counts.items())
    return parse_profile_toml(PROFILE.replace("{ least = 4, most = 840, multiple = 4 }", f"{{ {told} }}"))


def sized(number: int, width: float, height: float, **more: object) -> Page:
    return page(number, trim=(0.0, 0.0, width, height), **more)  # type: ignore[arg-type]


def of(*pages: Page, by: Profile | None = None, judged_as: int | None = None) -> Judgement:
    return judge(book(*pages), by or profile(), judged_as_pages=judged_as)


def only(*pages: Page, by: Profile | None = None) -> Finding:
    (finding,) = of(*pages, by=by).findings
    return finding


def reasons(judgement: Judgement) -> dict[str, str]:
    return {each.rule: each.why for each in judgement.not_checked}


def with_third(third: Page) -> tuple[Page, ...]:
    return (*sound().pages[:2], third, *sound().pages[3:])


# --- spreads ---


@pytest.mark.parametrize("size", [(864.0, 648.0), (882.0, 666.0)], ids=["bare", "with 9 pt of bleed"])
def test_two_pages_side_by_side_are_told_once(size: tuple[float, float]) -> None:
    """Page 1 alone, as a recto is, then spreads: no page count, margin or blank can be told of such a file."""
    spreads = [sized(n, *size, inside=10, outside=10, reach=Reach(right=0.0)) for n in range(2, 8)]
    judgement = of(page(1), *spreads, by=counting(least=100, most=840, multiple=4))
    (finding,) = judgement.findings
    assert (finding.rule, finding.pages) == ("trim-size", (2, 3, 4, 5, 6, 7))
    assert "Export single pages of 6 × 9 in (152.4 × 228.6 mm)" in finding.remedy
    told = reasons(judgement)
    for rule in ("inside-margin", "mirrored-margins", "page-count", "page-multiple", "bleed-missing", "blank-run"):
        assert told[rule].startswith("Two pages of the book stand side by side"), rule


def test_a_given_page_count_is_judged_although_the_file_holds_spreads() -> None:
    spreads = [sized(n, 864.0, 648.0) for n in range(1, 9)]
    assert "page-count/many" in {each.key for each in of(*spreads, judged_as=900).findings}


def test_two_a5_pages_fill_an_a4_page() -> None:
    """297 mm are 1 mm more than twice 148 mm (ISO 216 rounds down)."""
    spreads = [sized(n, 841.89, 595.276) for n in range(1, 9)]
    assert only(*spreads, by=offering(("148 mm", "210 mm"))).title.startswith("Two pages of the book")
    both = only(*spreads, by=offering(("148 mm", "210 mm"), ("210 mm", "297 mm")))
    assert both.title == "The pages lie on their side"
    assert "side by side, export single pages instead" in both.remedy


def test_a_spread_among_single_pages() -> None:
    judgement = of(*with_third(sized(3, 864.0, 648.0, inside=5, outside=5)))
    (finding,) = judgement.findings
    assert (finding.rule, finding.pages) == ("mixed-page-sizes", (3,))
    assert "Divide page 3 into single pages" in finding.remedy
    assert reasons(judgement)["inside-margin"] == "Page 3: left out, since two pages stand side by side."


def test_a_size_on_offer_is_no_spread() -> None:
    square_pair = [sized(n, 864.0, 648.0) for n in range(1, 9)]
    assert of(*square_pair, by=offering(("6 in", "9 in"), ("12 in", "9 in"))).findings == ()


# --- covers ---


@pytest.mark.parametrize("at", [1, 8])
def test_a_cover_among_the_pages(at: int) -> None:
    """6 × 9 in, a spine of 0.7207 in and 0.125 in of bleed: 933.89 × 666 pt (arithmetic of the trade)."""
    pages = list(sound().pages)
    pages[at - 1] = sized(at, 933.89, 666.0, inside=2, outside=2)
    finding = only(*pages)
    assert (finding.rule, finding.pages) == ("mixed-page-sizes", (at,))
    assert f"Take page {at} out and send the cover as a file of its own" in finding.remedy


def test_a_cover_and_one_page_are_not_a_book_of_covers() -> None:
    judgement = of(sized(1, 933.89, 666.0), page(2), by=counting(least=1))
    assert [(each.rule, each.pages) for each in judgement.findings] == [("mixed-page-sizes", (1,))]


# --- lying and turned ---


def test_a_book_on_its_side_before_a_printer_of_lying_books_and_the_other_way_round() -> None:
    upright = only(*(page(n) for n in range(1, 9)), by=offering(("9 in", "6 in")))
    assert upright.title.startswith("The pages stand upright")
    assert "higher than wide" in upright.detail
    lying = only(*(sized(n, 648.0, 432.0) for n in range(1, 9)))
    assert lying.measured is not None
    assert lying.required is not None
    assert {lying.measured.value, lying.required.value} == {648.0, 432.0}


def test_a_table_on_a_page_that_lies() -> None:
    finding = only(*with_third(sized(3, 648.0, 432.0, inside=5)))
    assert (finding.rule, finding.pages) == ("mixed-page-sizes", (3,))
    assert "turn what stands on it by a quarter" in finding.remedy


@pytest.mark.parametrize("pages", [(3,), tuple(range(1, 9))])
def test_upright_pages_that_are_shown_lying_are_one_fault_whatever_their_number(pages: tuple[int, ...]) -> None:
    """As typesetting programs write a wide table: upright media and a Rotate of 90 (ISO 32000-1 Table 30)."""
    book_pages = [sized(n, 648.0, 432.0, rotate=90, inside=5) if n in pages else page(n) for n in range(1, 9)]
    judgement = of(*book_pages)
    (finding,) = judgement.findings
    assert (finding.key, finding.weight, finding.pages) == ("page-rotation/lying", Weight.REFUSAL, pages)
    assert "the paper stays 6 × 9 in" in finding.remedy
    assert "shown lying on its side" in reasons(judgement)["inside-margin"]


@pytest.mark.parametrize(
    ("rotate", "area"),
    [
        # Clockwise: the left of the sheet is at the head of what is shown, its right at the foot.
        (90, (21.6, 21.6, 648 - 21.6, 432 - 32.4)),
        (270, (21.6, 32.4, 648 - 21.6, 432 - 21.6)),
    ],
)
def test_the_live_area_of_a_turned_sheet(rotate: int, area: tuple[float, ...]) -> None:
    """A recto with 32.4 pt inside, at the left of the upright sheet, and 21.6 pt elsewhere (ISO 32000-1 Table 30)."""
    assert live_area(sized(3, 648.0, 432.0, rotate=rotate), profile(), 100) == pytest.approx(area)


# --- sizes within the tolerance ---


def test_two_pages_of_the_same_size_on_offer_do_not_differ() -> None:
    """431.4 and 432.6 pt are each within 0.01 in (0.72 pt) of 6 in, and 1.2 pt apart."""
    by = parse_profile_toml(PROFILE.replace("[interior]", '[interior]\ntrim_tolerance = "0.01 in"'))
    pages = [sized(n, 431.4 if n % 3 else 432.6, 648.0) for n in range(1, 9)]
    assert of(*pages, by=by).findings == ()


def test_whole_points_within_the_tolerance() -> None:
    """A4 is 595.276 × 841.89 pt (ISO 216 in points); programs write 595 × 842."""
    pages = [sized(n, *((595.0, 842.0) if n % 2 else (595.276, 841.89))) for n in range(1, 9)]
    assert of(*pages, by=offering(("210 mm", "297 mm"))).findings == ()


def test_the_nearest_of_several_sizes_is_named() -> None:
    by = offering(("5 in", "8 in"), ("5.5 in", "8.5 in"), ("6 in", "9 in"))
    finding = only(*(sized(n, 400.0, 620.0) for n in range(1, 9)), by=by)
    assert "Set the paper size to 5.5 × 8.5 in (139.7 × 215.9 mm)" in finding.remedy


def test_a_trim_box_that_takes_in_the_bleed() -> None:
    """The file declares 6.25 × 9.25 in as the trimmed page: 6 × 9 in and 0.125 in of bleed all round."""
    finding = only(*(sized(n, 450.0, 666.0) for n in range(1, 9)))
    assert finding.rule == "trim-size"
    assert (
        "Set the page size to 6 × 9 in (152.4 × 228.6 mm) and the bleed, apart from it, to 0.125 in" in finding.remedy
    )


# --- counts ---


@pytest.mark.parametrize(
    ("pages", "multiple", "keys", "remedy"),
    [
        (8, 2, ["page-count/few"], "Bring the book to 40 pages"),
        (8, 16, ["page-count/few", "page-multiple"], "Bring the book to 48 pages"),
        (1, 4, ["page-count/few", "page-multiple"], "Bring the book to 40 pages"),
        (843, 2, ["page-count/many", "page-multiple"], "To come to 842 pages or fewer"),
        (843, 16, ["page-count/many", "page-multiple"], "To come to 832 pages or fewer"),
        (841, 16, ["page-multiple"], "Bring the book to 832 pages"),
        (841, 2, ["page-multiple"], "Bring the book to 842 pages or back to 840"),
        (257, 16, ["page-multiple"], "Bring the book to 272 pages or back to 256"),
        (41, 4, ["page-multiple"], "Bring the book to 44 pages or back to 40"),
    ],
)
def test_the_count_to_reach_fills_the_sheets(pages: int, multiple: int, keys: list[str], remedy: str) -> None:
    """Between 40 and 842 pages. 257 pages in sixteens are 272 (common practice, no source)."""
    by = counting(least=40, most=842, multiple=multiple)
    wide = (page(n, inside=70) for n in range(1, 9))
    found = of(*wide, by=by, judged_as=pages).findings
    assert [each.key for each in found] == keys
    assert found[0].remedy.startswith(remedy)
    reach = remedy.split(" pages", maxsplit=1)[0].rsplit(" ", 1)[-1]
    assert all(f"{reach} pages" in each.remedy for each in found)


# --- blanks ---


@pytest.mark.parametrize("first", ["true", "false"])
def test_a_file_of_blank_pages_is_one_fault(first: str) -> None:
    by = parse_profile_toml(PROFILE.replace("first = false", f"first = {first}"))
    finding = only(*(page(n, blank=True) for n in range(1, 9)), by=by)
    assert finding.title == "Nothing is printed on any page"
    assert finding.count == 8


def test_one_blank_page_where_none_is_taken() -> None:
    by = parse_profile_toml(PROFILE.replace("longest_run = 2", "longest_run = 0"))
    assert "one blank page stands, page 4; none is taken" in only(
        *(page(n, blank=n == 4) for n in range(1, 9)), by=by
    ).detail  # fmt: skip
