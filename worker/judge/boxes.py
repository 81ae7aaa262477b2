"""The rule about page boxes: where a file leaves it open, or says wrongly, where its pages are cut.

Each cause is one finding, and a page is in one of them at most for each box. A page whose size, as the file stands, is
not on offer would be refused by a printer, whose first look is at the size: such findings weigh as a refusal, and
`trim-size` is silent, since its remedy (another paper size) would be the wrong number to change. Where the size is
right all the same, they weigh as the rule does.
"""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.bleed import AT_EDGE, EDGES, area_beyond, bled_edges, bleed_missing, bleed_short
from worker.judge.case import ROUNDING, Case, Draft
from worker.judge.cut import box_size
from worker.judge.models import Weight
from worker.judge.registry import rule
from worker.measure.models import BoxName, Page
from worker.words import told

NAMES: dict[BoxName, str] = {"bleed": "BleedBox", "art": "ArtBox"}


@rule("page-boxes")
def page_boxes(case: Case) -> Iterator[Draft]:
    yield from _no_trim(case)
    yield from _trim_beyond_media(case)
    yield from _other_beyond_media(case)
    yield from _smaller_than_trim(case, "bleed")
    yield from _smaller_than_trim(case, "crop")
    yield from _bleed_cut_off(case)


def _no_trim(case: Case) -> Iterator[Draft]:
    """No TrimBox, and media larger than a size on offer by a plain bleed or marks area.

    The page is taken as its crop box; where that is not of the printer's size, the printer would see a wrong one.
    """
    if not case.borders:
        return
    refused = [number for number in case.borders if case.is_guessed(case.pages[number - 1])]
    where = (refused or list(case.borders))[0]
    border = case.borders[where]
    yield Draft(
        form=_no_trim_form(case) if refused else "crop-for-trim",
        cause="no-trim",
        weight=Weight.REFUSAL if refused else None,
        pages=list(case.borders),
        facts={
            "is_": case.area(*box_size(case.pages[where - 1].media)),
            "asked": case.area(border.trim.width, border.trim.height),
            "beyond": case.length(border.amount),
            "bleed": case.length(_wanted_bleed(case) or border.amount),
            "sides": told(f"phrases.page-boxes.{'every-side' if border.at_spine else 'but-the-spine'}"),
            "where": where,
        },
    )


def _no_trim_form(case: Case) -> str:
    bleed = case.interior.bleed
    return "no-trim-no-bleed" if bleed and bleed.use == "never" else "no-trim"


def _trim_beyond_media(case: Case) -> Iterator[Draft]:
    """A TrimBox that the media ends before: it is cut to the media (ISO 32000-1 14.11.2.1)."""
    pages = [page for page in case.pages if _reaches_out(page, "trim") and _is_on_offer(case, page)]
    if not pages:
        return
    refused = [page for page in pages if case.is_guessed(page)]
    first = (refused or pages)[0]
    yield Draft(
        form="trim-short" if refused else "trim-beyond",
        cause="trim-beyond-media",
        weight=Weight.REFUSAL if refused else None,
        pages=[page.page for page in pages],
        facts={
            "where": first.page,
            "written": case.area(*box_size(first.beyond_media["trim"])),
            "media": case.area(*box_size(first.media)),
            "is_": case.area(*box_size(first.trim)),
        },
    )


def _is_on_offer(case: Case, page: Page) -> bool:
    """Of another size, the page is `trim-size`'s or `mixed-page-sizes`'s, whose remedy gives it new boxes too."""
    return case.interior.trim_near(*case.size(page)) is not None


def _other_beyond_media(case: Case) -> Iterator[Draft]:
    """A BleedBox or ArtBox that the media ends before. Bleed that is missing for it is the bleed rules' finding.

    A CropBox that does is common and harms nothing: it only says what a screen shows.
    """
    told = {number for draft in (*bleed_missing(case), *bleed_short(case)) for number in draft.pages}
    boxes: tuple[BoxName, ...] = ("bleed", "art")
    found = {
        page.page: [box for box in boxes if _reaches_out(page, box)]
        for page in case.pages
        if not _reaches_out(page, "trim") and page.page not in told
    }
    pages = [number for number, names in found.items() if names]
    if pages:
        box = found[pages[0]][0]
        first = case.pages[pages[0] - 1]
        yield Draft(
            form="beyond-media",
            cause="beyond-media",
            pages=pages,
            facts={
                "where": first.page,
                "box": NAMES[box],
                "written": case.area(*box_size(first.beyond_media[box])),
                "media": case.area(*box_size(first.media)),
                "pages": case.on_pages(pages),
            },
        )


def _reaches_out(page: Page, box: BoxName) -> bool:
    """Whether the box as written goes beyond the media by more than rounding."""
    written = page.beyond_media.get(box)
    return written is not None and any(
        abs(one - other) > AT_EDGE for one, other in zip(written, _clipped(written, page.media), strict=True)
    )


def _clipped(box: tuple[float, ...], media: tuple[float, ...]) -> tuple[float, ...]:
    return max(box[0], media[0]), max(box[1], media[1]), min(box[2], media[2]), min(box[3], media[3])


def _smaller_than_trim(case: Case, box: BoxName) -> Iterator[Draft]:
    """A declared BleedBox, or CropBox, that ends inside a declared TrimBox (ISO 15930 wants bleed outside of trim)."""
    pages = [page for page in case.pages if _ends_inside_trim(page, box)]
    if pages:
        numbers = [page.page for page in pages]
        yield Draft(
            form=f"{box}-inside",
            cause=f"{box}-inside",
            pages=numbers,
            facts={
                "where": numbers[0],
                "is_": case.area(*box_size(getattr(pages[0], box))),
                "trim": case.area(*box_size(pages[0].trim)),
                "asked": case.length(_wanted_bleed(case)),
                "pages": case.on_pages(numbers),
            },
        )


def _ends_inside_trim(page: Page, box: BoxName) -> bool:
    return {"trim", box} <= set(page.declared) and any(
        area_beyond(page.trim, edge, getattr(page, box)) < -AT_EDGE for edge in EDGES
    )


def _bleed_cut_off(case: Case) -> Iterator[Draft]:
    """A declared BleedBox that cuts off bleed which the media has and the printer asks for."""
    wanted = _wanted_bleed(case)
    pages = [page.page for page in case.standing_pages if wanted and _bleed_box_short(case, page, wanted - ROUNDING)]
    if pages:
        yield Draft(
            form="bleed-box",
            cause="bleed-box",
            pages=pages,
            facts={"pages": case.on_pages(pages), "asked": case.length(wanted)},
        )


def _wanted_bleed(case: Case) -> float:
    bleed = case.interior.bleed
    return 0.0 if bleed is None or bleed.use == "never" or bleed.amount is None else bleed.amount


def _bleed_box_short(case: Case, page: Page, wanted: float) -> bool:
    return (
        "bleed" in page.declared
        and not _ends_inside_trim(page, "bleed")
        and any(
            area_beyond(case.cut(page), edge, page.bleed) < wanted <= area_beyond(case.cut(page), edge, page.media)
            for edge in bled_edges(case, page)
        )
    )
