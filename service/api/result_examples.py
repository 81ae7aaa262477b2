"""Examples of what an inspection finds, for the API's description: an invented book of one page, judged by an invented
printer."""

from __future__ import annotations

from datetime import UTC, datetime

from service.api.examples import DONE_INSPECTION, as_example
from service.api.resources import JudgedInspection
from worker.judge.models import Finding, Mark, Measured, NotChecked, Required, Verdict, Weight
from worker.measure.models import Document, File, Font, Margins, Measurements, Page, Reach
from worker.report.models import AfterSetup, JudgedBy, Report, Setting

__all__ = ["JUDGED", "MEASURED", "REPORT"]

_FILE = File(name="the-long-mole.pdf", sha256="7c" * 32, bytes=2_418_803)
_TRIM = (0.0, 0.0, 432.0, 648.0)
_TEXT = (29.7, 54.2, 396.0, 590.1)
_REPORT = Report(
    verdict=Verdict.NOT_PRESSWORTHY,
    summary="Not pressworthy for Ternhaven Digital, black and white: the file would be turned away for 1 thing.",
    profile=JudgedBy(id="ternhaven-mono", name="Ternhaven Digital, black and white", revision="2026-11"),
    file=_FILE,
    pages=1,
    judged_as_pages=1,
    findings=(
        Finding(
            rule="inside-margin",
            key="inside-margin",
            weight=Weight.REFUSAL,
            title="Text too near the spine",
            detail="The text of page 1 is 0.413 in (10.5 mm) from the spine; 0.45 in (11.4 mm) is asked.",
            effect="The words at the spine disappear into the fold.",
            remedy="Make the inside margin wider: 0.45 in (11.4 mm).",
            pages=(1,),
            page_ranges="1",
            count=1,
            measured=Measured(value=29.7, unit="pt"),
            required=Required(value=32.4, unit="pt", relation="at-least"),
            marks=(Mark(page=1, box=_TEXT, text="0.413 in"),),
        ),
    ),
    setup=(Setting(name="inside", measured=29.7, required=32.4, set=32.4),),
    after_setup=AfterSetup(pages=1, trim=(432.0, 648.0), fits=True),
    not_checked=(NotChecked(rule="folio-order", why="No page numbers were found."),),
    traces=("",),
    measured_at=datetime(2026, 11, 25, 9, 31, 10, tzinfo=UTC),
    pressworthy_version="0.1.0",
)
_MEASURED = Measurements(
    reader="1",
    file=_FILE,
    document=Document(pages=1, pdf_version="1.7", title="The Long Mole", author="Maud Kittering"),
    fonts=(Font(name="Tern Serif", kind="cff", embedded=True, subset=True, pages=(1,), sizes=(8.0, 10.5)),),
    pages=(
        Page(
            page=1,
            side="recto",
            media=_TRIM,
            crop=_TRIM,
            bleed=_TRIM,
            trim=_TRIM,
            art=_TRIM,
            declared=("media",),
            rotate=0,
            user_unit=1.0,
            blank=False,
            ink=_TEXT,
            text=_TEXT,
            margins=Margins(inside=29.7, outside=36.0, head=57.9, foot=54.2),
            smallest_type=8.0,
            thinnest_rule=None,
            colours=("gray",),
            most_ink=100.0,
            transparency=False,
            reach=Reach(),
        ),
    ),
)

REPORT = {"refused": as_example("A page whose text is too near the spine", _REPORT)}
MEASURED = {"measured": as_example("One page", _MEASURED)}
JUDGED = {"judged": as_example("Judged again", JudgedInspection(**dict(DONE_INSPECTION), report=_REPORT))}
