"""Invented books of the Tern Island Writers' Cooperative, as measurements and judgements made by hand."""

from __future__ import annotations

from datetime import UTC, datetime

from worker.judge.models import Finding, Judgement, Mark, Measured, NotChecked, Required, Verdict, Weight
from worker.measure.models import (
    Document,
    File,
    Font,
    Image,
    Line,
    Margins,
    Measurements,
    Page,
    Reach,
    Unreadable,
)
from worker.units import page_ranges

TRIM = (0.0, 0.0, 432.0, 648.0)
MEASURED_AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
LEADING = 14.0


def page_of(
    number: int, *, inside: float = 45.0, binding: str = "left", blank: bool = False, opens: bool = False
) -> Page:
    """A 6 × 9 in page of a novel: lines 14 pt apart, a folio at the foot, an outside margin of 36 pt."""
    bound_left = (number % 2 == 1) == (binding == "left")
    left, right = (inside, 36.0) if bound_left else (36.0, inside)
    if blank:
        return _page(number, bound_left, (), None, None)
    first = 20 if opens else 0
    lines = [
        _line(left + (12 if row % 7 == 3 else 0), 432 - right - (90 if row % 7 == 2 else 0), 582 - LEADING * row, 10.5)
        for row in range(first, 36)
    ]
    if opens:
        lines.insert(0, _line(left, left + 160, 470, 20, "Chapter"))
    lines.append(_line(206, 226, 36, 9, str(number)))
    text = (left, 34.0, 432 - right, max(line.box[3] for line in lines))
    margins = Margins(inside=inside, outside=36.0, head=648 - text[3], foot=text[1])
    return _page(number, bound_left, tuple(lines), text, margins)


def _line(x0: float, x1: float, baseline: float, size: float, text: str = "The tide was out.") -> Line:
    box = (x0, baseline - size / 4, x1, baseline + size * 0.7)
    return Line(box=box, baseline=baseline, text=text, font="Tern Serif", size=size)


def _page(
    number: int,
    bound_left: bool,
    lines: tuple[Line, ...],
    text: tuple[float, float, float, float] | None,
    margins: Margins | None,
) -> Page:
    return Page(
        page=number,
        side="recto" if bound_left else "verso",
        media=TRIM,
        crop=TRIM,
        bleed=TRIM,
        trim=TRIM,
        art=TRIM,
        declared=("media", "trim"),
        rotate=0,
        user_unit=1.0,
        blank=not lines,
        ink=text,
        text=text,
        margins=margins,
        smallest_type=9.0 if lines else None,
        thinnest_rule=None,
        colours=("gray",) if lines else (),
        most_ink=100.0 if lines else None,
        transparency=False,
        reach=Reach(),
        lines=lines,
    )


def book(
    pages: int,
    *,
    binding: str = "left",
    inside: float = 45.0,
    name: str = "salt-road.pdf",
    title: str = "The Salt Road",
) -> Measurements:
    """A novel with an opening every eleventh page and, on every fortieth, a picture."""
    made = tuple(
        page_of(n, inside=inside, binding=binding, blank=n == 2, opens=n % 11 == 3) for n in range(1, pages + 1)
    )
    images = tuple(
        Image(page=n, box=(90, 330, 342, 560), pixels=(500, 456), ppi=(142.9, 142.8), colour="gray", bits=8)
        for n in range(40, pages + 1, 40)
    )
    fonts = (
        Font(name="TernSerif", kind="cid-truetype", embedded=True, subset=True, pages=tuple(range(1, pages + 1)),
             sizes=(9, 20)),
        Font(name="Helvetica", kind="type1", embedded=False, subset=False, pages=(7,), sizes=(8, 8)),
    )  # fmt: skip
    return Measurements(
        reader="by-hand/1",
        file=File(name=name, sha256="5e" * 32, bytes=1_482_113),
        document=Document(pages=pages, pdf_version="1.7", title=title, author="Maud Kittering", producer="Typesetter",
                          binding_edge=binding),
        fonts=fonts,
        images=images,
        pages=made,
    )  # fmt: skip


def unreadable() -> Measurements:
    """A file that no reader opens."""
    return Measurements(
        reader="by-hand/1",
        file=File(name="torn.pdf", sha256="00" * 32, bytes=812),
        document=Document(pages=0, unreadable=Unreadable(reason="damaged", detail="the page tree is missing")),
    )


def finding(
    rule: str, weight: Weight, pages: tuple[int, ...], *, marks: tuple[Mark, ...] = (), **more: object
) -> Finding:
    """A finding with plain words; ``more`` replaces any field."""
    fields: dict[str, object] = {
        "rule": rule,
        "key": rule,
        "weight": weight,
        "title": f"What {rule} finds",
        "detail": "What was measured is not what this printer asks.",
        "effect": "The reader sees it on the page.",
        "remedy": "Change the number and set the book again.",
        "pages": pages,
        "page_ranges": page_ranges(pages),
        "count": len(pages),
        "measured": None,
        "required": None,
        "marks": marks,
    }
    return Finding.model_validate(fields | more)


def inside_finding(pages: tuple[int, ...], worst: float = 27.4) -> Finding:
    """Text too near the spine on ``pages``; the mark is the text block of the first of them, a left-bound recto."""
    marks = tuple(Mark(page=page, box=(worst, 34.0, 396.0, 592.0) if page % 2 else (36.0, 34.0, 432 - worst, 592.0),
                       text="0.38 in (9.7 mm)") for page in pages[:3])  # fmt: skip
    return finding(
        "inside-margin",
        Weight.REFUSAL,
        pages,
        marks=marks,
        title="Text too near the spine",
        detail="Text comes within 0.38 in (9.7 mm) of the inside edge; at 300 pages this printer asks for 0.65 in.",
        effect="The ends of lines disappear into the fold, and the book must be forced open to be read.",
        remedy="Set the inside margin to 0.66 in (16.8 mm), on recto and verso alike.",
        measured=Measured(value=worst, unit="pt"),
        required=Required(value=46.8, unit="pt", relation="at-least"),
    )


def judgement(findings: tuple[Finding, ...], pages: int, *, judged_as: int | None = None) -> Judgement:
    """A judgement that holds these findings, in order of weight."""
    weights = {found.weight for found in findings}
    verdict = Verdict.PRESSWORTHY
    if Weight.SPOILAGE in weights:
        verdict = Verdict.RESERVATIONS
    if Weight.REFUSAL in weights:
        verdict = Verdict.NOT_PRESSWORTHY
    return Judgement(
        verdict=verdict,
        summary="This printer would turn the file away." if findings else "This printer would take the file.",
        judged_as_pages=judged_as or pages,
        findings=findings,
        not_checked=(NotChecked(rule="ink-coverage", why="This version does not measure it yet."),),
    )
