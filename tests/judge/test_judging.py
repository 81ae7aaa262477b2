"""What holds for the judgement as a whole, whatever the rule."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.judge.factory import PROFILE, book, document, page, profile, sound
from worker.judge import judge
from worker.judge.models import Judgement, Verdict, Weight
from worker.judge.registry import RULES as TESTED
from worker.measure.models import Annotation, Document, Image, Link, Measurements, Page, Reach, Unreadable
from worker.profiles import Profile, builtin_profiles, parse_profile_toml
from worker.rules import RULES
from worker.words.catalogue import shipped

MINIMAL = """
id = "quiet"
name = "Quiet Press"
revision = "1"
unit = "mm"
[interior]
trims = [{ width = "6 in", height = "9 in" }]
[interior.margins]
"""


def weighing(**weights: str) -> Profile:
    lines = [f'{rule.replace("_", "-")} = "{weight}"' for rule, weight in weights.items()]
    return parse_profile_toml(PROFILE + "\n[weights]\n" + "\n".join(lines))


def linked() -> Measurements:
    return book(*sound().pages, links=(Link(page=2, box=(100, 100, 200, 150), kind="uri"),))


def test_a_printer_may_weigh_a_rule_otherwise() -> None:
    assert judge(linked(), profile()).verdict is Verdict.RESERVATIONS
    assert judge(linked(), weighing(link_annotation="refusal")).verdict is Verdict.NOT_PRESSWORTHY
    assert judge(linked(), weighing(link_annotation="polish")).verdict is Verdict.PRESSWORTHY
    off = judge(linked(), weighing(link_annotation="off", widow="off"))
    assert off.findings == ()
    assert not {"link-annotation", "widow"} & {each.rule for each in off.not_checked}


def test_what_a_profile_does_not_ask_is_neither_found_nor_missed() -> None:
    flawed = book(
        *(page(n, 1, 1, 1, 1, smallest=2, blank=n > 4, reach=Reach(head=0.0)) for n in range(1, 9)),
        document=document(8, encrypted=True),
        links=linked().links,
        images=(Image(page=3, box=(50, 50, 90, 90), pixels=(9, 9), ppi=(9, 9), colour="gray", bits=8),),
    )
    judgement = judge(flawed, parse_profile_toml(MINIMAL))
    assert judgement.findings == ()
    missed = {each.rule for each in judgement.not_checked}
    assert not missed & {"head-margin", "pdf-version", "thin-rule", "ink-coverage", "small-type", "file-size"}
    assert {"widow", "cover-size", "document-title"} <= missed


def test_every_rule_is_tried_or_named_as_not_tried() -> None:
    """With a profile that asks everything, no rule of the list is passed over in silence."""
    by = builtin_profiles()["ternhaven-mono"].model_copy(update={"weights": {}})
    missed = {each.rule for each in judge(sound(), by).not_checked}
    unasked = {"transparency", "pdfx-conformance", "output-intent"}  # this printer takes transparency and asks no PDF/X
    assert missed | set(TESTED) | unasked == set(RULES)
    of_the_book = {rule for rule, known in RULES.items() if known.group == "book"}
    assert missed & set(TESTED) == {"document-title"} | of_the_book  # no book was given, and so no title page
    assert set(TESTED) <= set(RULES)


def test_every_tested_rule_has_words() -> None:
    files = {f"rules-{RULES[rule].group.replace(' ', '-')}.{rule}": rule for rule in TESTED}
    keys = {".".join(key.split(".")[:2]) for key in shipped("en").keys() if key.startswith("rules-")}  # noqa: SIM118
    assert keys == set(files)


def test_encryption_is_found_where_it_is_not_taken() -> None:
    measurements = book(*sound().pages, document=document(8, encrypted=True))
    refusing = parse_profile_toml(PROFILE + "[interior.file]\nencryption = false\n")
    taking = parse_profile_toml(PROFILE + "[interior.file]\nencryption = true\n")
    assert [each.rule for each in judge(measurements, refusing).findings] == ["encrypted"]
    assert judge(measurements, taking).findings == ()


def test_a_locked_file_is_refused_whatever_the_profile_asks() -> None:
    locked = Document(pages=0, encrypted=True, unreadable=Unreadable(reason="password", detail="it asks for one"))
    judgement = judge(book(document=locked), parse_profile_toml(MINIMAL))
    assert [each.rule for each in judgement.findings] == ["encrypted"]
    reasons = {each.rule: each.why for each in judgement.not_checked}
    assert reasons["trim-size"] == "The file could not be opened."
    assert "damaged-file" not in reasons


def test_a_file_without_pages_is_damaged() -> None:
    judgement = judge(book(), profile())
    assert [each.rule for each in judgement.findings] == ["damaged-file"]
    assert judgement.verdict is Verdict.NOT_PRESSWORTHY


def test_a_repaired_file_is_damaged_and_judged_all_the_same() -> None:
    mended = document(8, repaired=True, repairs=("its cross-reference table was rebuilt",))
    judgement = judge(book(*sound().pages, document=mended), profile())
    (finding,) = judgement.findings
    assert (finding.rule, finding.pages) == ("damaged-file", ())
    assert "cross-reference table" in finding.detail
    assert not any(each.why == "The file could not be opened." for each in judgement.not_checked)


def test_a_file_that_is_too_large() -> None:
    measurements = sound().model_copy(update={"file": sound().file.model_copy(update={"bytes": 5_000_001})})
    by = parse_profile_toml(PROFILE + '[interior.file]\nmost_bytes = "5 MB"\n')
    assert [each.rule for each in judge(measurements, by).findings] == ["file-size"]
    assert judge(sound(), by).findings == ()


def test_pages_that_could_not_be_read_are_judged_by_their_boxes_alone() -> None:
    lost = page(3, 1, 1, 1, 1, smallest=1, trim=(0, 0, 396, 612)).model_copy(update={"unread": "its stream is broken"})
    judgement = judge(book(*sound().pages[:2], lost, *sound().pages[3:]), profile())
    assert [(each.rule, each.pages) for each in judgement.findings] == [("mixed-page-sizes", (3,))]
    reasons = {each.rule: each.why for each in judgement.not_checked}
    assert reasons["small-type"] == reasons["bleed-missing"] == "Page 3 could not be read: its stream is broken."
    assert "trim-size" not in reasons


# --- blanks, and what fills a sheet ---


def blanks(*numbers: int, pages: int = 16) -> Measurements:
    return book(*(page(n, blank=n in numbers) for n in range(1, pages + 1)))


@pytest.mark.parametrize(
    ("numbers", "found"),
    [
        ((4, 5, 6, 10, 11, 12, 13), [("blank-run", (4, 5, 6, 10, 11, 12, 13))]),
        ((1, 2, 3), [("blank-first", (1, 2, 3))]),
        ((14, 15, 16), []),  # 13 pages of text need three more to fill a sheet of four
        ((12, 13, 14, 15, 16), [("blank-end", (14, 15, 16))]),
    ],
)
def test_runs_of_blank_pages(numbers: tuple[int, ...], found: list[tuple[str, tuple[int, ...]]]) -> None:
    assert [(each.rule, each.pages) for each in judge(blanks(*numbers), profile()).findings] == found


def test_a_run_that_opens_the_book_counts_where_page_1_may_be_blank() -> None:
    by = parse_profile_toml(PROFILE.replace("first = false", "first = true"))
    assert judge(blanks(1, 2), by).findings == ()
    assert [(each.rule, each.pages) for each in judge(blanks(1, 2, 3), by).findings] == [("blank-run", (1, 2, 3))]


# --- pictures and annotations ---


def test_one_picture_is_in_one_finding() -> None:
    def picture(number: int, ppi: float, **more: object) -> Image:
        size = {"box": (50, 50, 90, 90), "pixels": (200, 200), "colour": "gray", "bits": 8}
        return Image(page=number, ppi=(ppi, 2 * ppi), **{**size, **more})

    images = (
        picture(2, 150), picture(3, 250), picture(4, 500), picture(5, 90, pixels=(1, 900)),
        picture(6, float("inf")), picture(7, 300, colour="mask", line_art=True, bits=1), picture(7, 100, colour="mask"),
    )  # fmt: skip
    judgement = judge(book(*sound().pages, images=images), profile())
    assert [(each.key, each.weight, each.pages) for each in judgement.findings] == [
        ("image-resolution/refused", Weight.REFUSAL, (2,)),
        ("image-resolution/coarse", Weight.SPOILAGE, (3,)),
        ("line-art-resolution", Weight.SPOILAGE, (7,)),
    ]


def test_marks_made_for_the_printer_are_no_annotations() -> None:
    """TrapNet and PrinterMark annotations belong to production (ISO 32000-1 14.11.3, 14.11.6)."""
    kinds = ["TrapNet", "PrinterMark"]
    notes = tuple(Annotation(page=2, box=(0, 0, 9, 9), kind=kind) for kind in kinds)
    assert judge(book(*sound().pages, annotations=notes), profile()).findings == ()


# --- the whole ---

margin = st.floats(min_value=-20, max_value=220)
leaves = st.lists(
    st.tuples(margin, margin, margin, margin, st.booleans(), st.sampled_from([0, 90, 180]), st.floats(1, 20)),
    min_size=1,
    max_size=14,
)


def made(figures: list[tuple[float, float, float, float, bool, int, float]]) -> list[Page]:
    return [
        page(n, *each[:4], blank=each[4], rotate=each[5], smallest=each[6], reach=Reach(head=0.0 if each[4] else None))
        for n, each in enumerate(figures, 1)
    ]


@settings(max_examples=60, deadline=None)
@given(leaves, st.sampled_from(sorted(builtin_profiles())), st.integers(1, 1200) | st.none())
def test_a_judgement_is_pure_ordered_and_whole(figures: list, printer: str, pages: int | None) -> None:  # type: ignore[type-arg]
    measurements, by = book(*made(figures)), builtin_profiles()[printer]
    before = measurements.model_dump_json()
    judgement = judge(measurements, by, judged_as_pages=pages)
    assert judge(measurements, by, judged_as_pages=pages) == judgement
    assert measurements.model_dump_json() == before
    assert Judgement.model_validate_json(judgement.model_dump_json()).findings[:0] == ()
    order = [(list(Weight).index(each.weight), -each.count) for each in judgement.findings]
    assert order == sorted(order)
    keys = [each.key for each in judgement.findings]
    assert len(keys) == len(set(keys))
    for finding in judgement.findings:
        assert finding.count == len(finding.pages)
        assert set(finding.pages) <= set(range(1, len(figures) + 1))
        assert {mark.page for mark in finding.marks} <= set(finding.pages)
        assert len(finding.marks) <= 12
        assert "{" not in finding.title + finding.detail + finding.effect + finding.remedy


@given(st.permutations(range(6)))
def test_the_order_of_links_and_pictures_does_not_matter(order: list[int]) -> None:
    links = [Link(page=n + 1, box=(n, n, n + 9, n + 9), kind="uri") for n in range(6)]
    images = [
        Image(page=n + 1, box=(9, 9, 90, 90), pixels=(50, 50), ppi=(100 + n, 100), colour="gray", bits=8)
        for n in range(6)
    ]
    pages = sound().pages
    straight = judge(book(*pages, links=tuple(links), images=tuple(images)), profile())
    mixed = judge(book(*pages, links=tuple(links[n] for n in order), images=tuple(images[n] for n in order)), profile())

    def seen(judgement: Judgement) -> list[tuple[object, ...]]:
        return [(each.key, each.pages, each.detail, each.remedy) for each in judgement.findings]

    assert seen(mixed) == seen(straight)
