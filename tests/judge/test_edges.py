"""Bleed and page boxes: what is beyond the trimmed edge, and whether the file says where that edge is."""

from __future__ import annotations

import pytest

from tests.judge.factory import PROFILE, TRIM, book, page, profile, sound
from worker.judge import judge
from worker.judge.live_area import live_area
from worker.judge.models import Finding, Weight
from worker.measure.models import Box, Image, Page, Reach
from worker.profiles import Profile, parse_profile_toml

# 6 × 9 in with 9 pt of bleed on four sides, and on all but the spine's (common practice, no source).
FOUR_SIDES: Box = (-9.0, -9.0, 441.0, 657.0)
THREE_SIDES: Box = (0.0, -9.0, 441.0, 657.0)
ALL_EDGES = Reach(right=0.0, head=0.0, foot=0.0)


def asking(use: str, amount: str | None = "0.125 in") -> Profile:
    wanted = f', amount = "{amount}"' if amount else ""
    return parse_profile_toml(PROFILE.replace('use = "allowed", amount = "0.125 in"', f'use = "{use}"{wanted}'))


def with_third(third: Page) -> tuple[Page, ...]:
    return (*sound().pages[:2], third, *sound().pages[3:])


def findings(*pages: Page, by: Profile | None = None, **facts: object) -> list[Finding]:
    return list(judge(book(*pages, **facts), by or profile()).findings)


def keys(*pages: Page, by: Profile | None = None, **facts: object) -> list[str]:
    return [finding.key for finding in findings(*pages, by=by, **facts)]


def test_a_printer_without_bleed_wants_no_ink_at_the_edge() -> None:
    (finding,) = findings(*with_third(page(3, media=FOUR_SIDES, reach=Reach(head=9.0))), by=asking("never"))
    assert (finding.rule, finding.pages) == ("bleed-missing", (3,))
    assert "Keep pictures and backgrounds inside the page" in finding.remedy


def test_a_printer_that_wants_bleed_on_every_page() -> None:
    always = asking("always")
    (finding,) = findings(*sound().pages, by=always)
    assert (finding.rule, finding.count) == ("bleed-missing", 8)
    pages = [page(n, media=FOUR_SIDES) for n in range(1, 9)]
    assert keys(*pages, by=always) == []
    (short,) = findings(*pages[:7], page(8, media=(-5.0, -9.0, 441.0, 657.0)), by=always)
    assert (short.rule, short.pages) == ("bleed-short", (8,))


def test_three_sides_are_enough() -> None:
    assert keys(*with_third(page(3, media=THREE_SIDES, reach=Reach(left=0.0, right=9.0, head=9.0, foot=9.0)))) == []


@pytest.mark.parametrize(
    ("beyond", "amount", "short"),
    [(9.0, "3 mm", False), (8.504, "0.125 in", True), (8.5, "3 mm", False), (14.17, "5 mm", False)],
)
def test_bleed_by_amount(beyond: float, amount: str, short: bool) -> None:
    """3 mm is 8.504 pt and 0.125 in is 9 pt; 5 mm is 14.173 pt (1 in = 25.4 mm = 72 pt)."""
    room = (-20.0, -20.0, 452.0, 668.0)
    rules = keys(*with_third(page(3, media=room, reach=Reach(right=beyond))), by=asking("allowed", amount))
    assert rules == (["bleed-short"] if short else [])


def test_no_amount_asks_for_none() -> None:
    assert keys(*with_third(page(3, media=FOUR_SIDES, reach=Reach(right=1.0))), by=asking("allowed", None)) == []


def test_text_at_the_edge_is_a_margin_and_not_a_bleed() -> None:
    at_edge = page(3, outside=0.0, reach=Reach(right=0.0))
    assert keys(*with_third(at_edge)) == ["outside-margin"]
    picture = Image(page=3, box=(300, 100, 432, 300), pixels=(900, 900), ppi=(400, 400), colour="gray", bits=8)
    assert keys(*with_third(at_edge), images=(picture,)) == ["bleed-missing", "outside-margin"]


def undeclared(number: int, media: Box, crop: Box | None = None, *, inside: float = 54) -> Page:
    """A page without a TrimBox: trimmed at its CropBox."""
    trim = crop or media
    moved = (media[0] - trim[0], media[1] - trim[1], media[2] - trim[0], media[3] - trim[1])
    size = (0.0, 0.0, trim[2] - trim[0], trim[3] - trim[1])
    declared = ("media", "crop") if crop else ("media",)
    return page(number, inside, trim=size, media=moved).model_copy(update={"declared": declared})


def test_bleed_without_a_trim_box() -> None:
    """6 × 9 in with 9 pt of bleed: 450 × 666 pt on four sides, 441 × 666 on three (common practice, no source)."""
    for media in ((0.0, 0.0, 450.0, 666.0), (0.0, 0.0, 441.0, 666.0)):
        (finding,) = [each for each in findings(*bordered(media)) if each.rule != "inside-margin"]
        assert (finding.key, finding.weight, finding.count) == ("page-boxes/no-trim", Weight.REFUSAL, 8)
        assert "6 × 9 in (152.4 × 228.6 mm) and 0.125 in (3.2 mm) more" in finding.detail
        assert "page size set to 6 × 9 in (152.4 × 228.6 mm) and, apart from it, a bleed of 0.125 in" in finding.remedy
    (without,) = findings(*bordered((0.0, 0.0, 450.0, 666.0), inside=70), by=asking("never"))
    assert without.remedy.startswith("Set the paper size to just 6 × 9 in")


def bordered(media: Box, *, inside: float = 54) -> list[Page]:
    return [undeclared(n, media, inside=inside) for n in range(1, 9)]


def test_margins_of_a_page_without_a_trim_box_are_those_of_the_page_that_it_is_cut_to() -> None:
    """54 pt from the edge of the media is 45 pt from the cut where the border goes all round, and 0.65 in is 46.8 pt.

    With no border at the spine, 54 pt stay 54 pt there, on rectos and on versos (geometry by hand).
    """
    around, beside = (0.0, 0.0, 450.0, 666.0), (0.0, 0.0, 441.0, 666.0)

    def inside(media: Box) -> list[Finding]:
        judgement = judge(book(*bordered(media)), profile(), judged_as_pages=200)
        return [each for each in judgement.findings if each.rule == "inside-margin"]

    (finding,) = inside(around)
    assert finding.measured is not None
    assert finding.measured.value == pytest.approx(45)
    assert "does not say where the page is cut: this is measured from the edges of 6 × 9 in" in finding.detail
    assert inside(beside) == []
    recto, verso = bordered(beside)[:2]
    assert live_area(recto, profile(), 200) == pytest.approx((46.8, 9 + 21.6, 432 - 21.6, 657 - 21.6))
    assert live_area(verso, profile(), 200) == pytest.approx((9 + 21.6, 9 + 21.6, 441 - 46.8, 657 - 21.6))


def test_ink_through_the_border_is_bleed_and_what_is_not_known_is_said() -> None:
    pages = [each.model_copy(update={"reach": ALL_EDGES}) for each in bordered((0.0, 0.0, 450.0, 666.0))]
    judgement = judge(book(*pages), profile())
    assert [each.key for each in judgement.findings] == ["page-boxes/no-trim"]
    reasons = {each.rule: each.why for each in judgement.not_checked}
    assert reasons["bleed-short"].startswith("The file does not say where the edge of pages 1–8 is")


def test_one_page_without_a_trim_box_among_pages_with_one() -> None:
    assert keys(*with_third(undeclared(3, (0.0, 0.0, 450.0, 666.0), inside=63))) == ["page-boxes/no-trim"]


def test_a_crop_box_that_stands_for_the_trim() -> None:
    pages = [undeclared(n, (0.0, 0.0, 450.0, 666.0), crop=(9.0, 9.0, 441.0, 657.0)) for n in range(1, 9)]
    (finding,) = findings(*pages)
    assert (finding.key, finding.weight) == ("page-boxes/no-trim", Weight.SPOILAGE)


@pytest.mark.parametrize("media", [(0.0, 0.0, 432.0, 648.0), (0.0, 0.0, 432.4, 648.0)])
def test_a_page_of_just_the_trim_needs_no_trim_box(media: Box) -> None:
    assert keys(*(undeclared(n, media) for n in range(1, 9))) == []


def test_another_size_is_no_border() -> None:
    """7 × 10 in is 6 × 9 in and half an inch all round, and is a trim of its own; with crop marks it is a border."""
    pages = [undeclared(n, (0.0, 0.0, 504.0, 720.0)) for n in range(1, 9)]
    assert keys(*pages) == ["trim-size"]
    marked = [each.model_copy(update={"ink": (10.0, 10.0, 494.0, 710.0)}) for each in pages]
    judgement = judge(book(*marked), profile())
    assert [each.key for each in judgement.findings] == ["page-boxes/no-trim"]
    assert "a printer's marks stand around" in {each.rule: each.why for each in judgement.not_checked}["head-margin"]


def test_a_bleed_box_that_cuts_the_bleed_off() -> None:
    cut = page(3, media=FOUR_SIDES, reach=Reach(right=9.0)).model_copy(
        update={"bleed": TRIM, "declared": ("media", "bleed", "trim")}
    )
    assert keys(*with_third(cut)) == ["page-boxes/bleed-box"]


def boxed(number: int = 3, *, media: Box = TRIM, **boxes: Box) -> Page:
    """A page of declared boxes; those in ``beyond_media`` are cut to the media, as ISO 32000-1 14.11.2.1 says."""
    cut = {
        name: (max(box[0], media[0]), max(box[1], media[1]), min(box[2], media[2]), min(box[3], media[3]))
        for name, box in boxes.items()
    }
    beyond = {name: box for name, box in boxes.items() if box != cut[name]}
    declared = ("media", *boxes, *(() if "trim" in boxes else ("trim",)))
    return page(number, media=media).model_copy(update={**cut, "declared": declared, "beyond_media": beyond})


def test_a_trim_box_beyond_the_media_that_is_cut_back_to_a_size_on_offer() -> None:
    (finding,) = findings(*with_third(boxed(trim=FOUR_SIDES)))
    assert (finding.key, finding.weight, finding.pages) == (
        "page-boxes/trim-beyond-media", Weight.SPOILAGE, (3,)
    )  # fmt: skip
    assert "measures 6.25 × 9.25 in (158.7 × 234.9 mm)" in finding.detail


def test_a_trim_box_of_a_size_on_offer_that_the_media_ends_before() -> None:
    """The printer can cut no more than the media has (ISO 32000-1 14.11.2.1): too small a page, one finding."""
    short = boxed(trim=TRIM, media=(0.0, 0.0, 423.0, 639.0))
    (finding,) = findings(*with_third(short))
    assert (finding.key, finding.weight) == ("page-boxes/trim-beyond-media", Weight.REFUSAL)
    assert "Set the paper size to 6 × 9 in" in finding.remedy
    whole = [boxed(n, trim=TRIM, media=(0.0, 0.0, 423.0, 639.0)) for n in range(1, 9)]
    judgement = judge(book(*whole), profile())
    assert [each.key for each in judgement.findings] == ["page-boxes/trim-beyond-media"]
    assert "page ends before" in {each.rule: each.why for each in judgement.not_checked}["head-margin"]


@pytest.mark.parametrize("box", ["bleed", "art"])
def test_another_box_beyond_the_media(box: str) -> None:
    (finding,) = findings(*with_third(boxed(3, **{box: FOUR_SIDES})))
    assert (finding.key, finding.pages) == ("page-boxes/beyond-media", (3,))
    assert f"The {box.title()}Box of page 3" in finding.detail


def test_a_bleed_box_beyond_the_media_and_bleed_that_is_missing_for_it_are_one_fault() -> None:
    bare = boxed(bleed=FOUR_SIDES).model_copy(update={"reach": Reach(right=0.0)})
    assert keys(*with_third(bare)) == ["bleed-missing"]


def test_a_crop_box_beyond_the_media_is_common_and_harmless() -> None:
    """It says what a screen shows and has no meaning in production (ISO 32000-1 14.11.2.1)."""
    assert keys(*with_third(boxed(crop=FOUR_SIDES))) == []


@pytest.mark.parametrize("box", ["bleed", "crop"])
@pytest.mark.parametrize("use", ["never", "allowed"])
def test_a_box_that_ends_inside_the_trim(box: str, use: str) -> None:
    """The trim lies within the bleed (ISO 15930-1 and -7, bounding boxes, from memory)."""
    inner = {box: (9.0, 9.0, 423.0, 639.0)}
    (finding,) = findings(*with_third(boxed(3, media=FOUR_SIDES, **inner)), by=asking(use))
    assert (finding.key, finding.pages) == (f"page-boxes/{box}-inside", (3,))
    assert "6 × 9 in (152.4 × 228.6 mm)" in finding.remedy


# --- sizes ---


def sized(number: int, width: float, height: float) -> Page:
    return page(number, trim=(0.0, 0.0, width, height))


def test_sizes_within_the_tolerance() -> None:
    """Half a millimetre takes A4 as 595 × 842 pt and 6.69 × 9.61 in for 170 × 244 mm (common practice, no source)."""
    text = PROFILE.replace(
        'trims = [{ name = "Trade", width = "6 in", height = "9 in" }]',
        'trims = [{ width = "210 mm", height = "297 mm" }, { width = "170 mm", height = "244 mm" }]',
    )
    for width, height in ((595.0, 842.0), (481.68, 691.92)):
        assert keys(*(sized(n, width, height) for n in range(1, 9)), by=parse_profile_toml(text)) == []


def test_a_size_that_only_looks_alike_fails() -> None:
    """138 × 216 mm is not 5.5 × 8.5 in: 1.7 mm too narrow (common practice, no source)."""
    text = PROFILE.replace('width = "6 in", height = "9 in"', 'width = "5.5 in", height = "8.5 in"')
    (finding,) = findings(*(sized(n, 391.181, 612.283) for n in range(1, 9)), by=parse_profile_toml(text))
    assert finding.rule == "trim-size"
    assert finding.measured is not None
    assert finding.measured.value == pytest.approx(391.181)


def test_one_page_of_another_size_by_the_tolerance() -> None:
    """432 and 432.4 pt: another size at none, one size at 0.5 pt (common practice, no source)."""
    pages = (*(page(n) for n in range(1, 8)), sized(8, 432.4, 648))
    exact = PROFILE.replace("[interior]", '[interior]\ntrim_tolerance = "0 pt"')
    near = PROFILE.replace("[interior]", '[interior]\ntrim_tolerance = "0.5 pt"')
    assert [finding.pages for finding in findings(*pages, by=parse_profile_toml(exact))] == [(8,)]
    assert findings(*pages, by=parse_profile_toml(near)) == []


def test_a_book_that_lies_on_its_side() -> None:
    (finding,) = findings(*(sized(n, 648, 432) for n in range(1, 9)))
    assert finding.title == "The pages lie on their side"


def test_a_trim_has_its_own_page_count() -> None:
    text = PROFILE.replace(
        'trims = [{ name = "Trade", width = "6 in", height = "9 in" }]',
        'trims = [{ width = "6 in", height = "9 in" }, '
        '{ width = "170 mm", height = "244 mm", page_count = { most = 900 } }]',
    )
    by = parse_profile_toml(text)
    small, large = [page(n, 72) for n in range(1, 9)], [page(n, 72, trim=(0, 0, 481.89, 691.65)) for n in range(1, 9)]
    (finding,) = judge(book(*small), by, judged_as_pages=880).findings
    assert finding.key == "page-count/many"
    assert "170 × 244 mm), which is taken to 900 pages" in finding.remedy
    assert judge(book(*large), by, judged_as_pages=880).findings == ()
    # the trim's own `most` leaves the general `least` as it is
    assert [each.key for each in judge(book(*large[:2]), by).findings] == ["page-count/few", "page-multiple"]
