"""The report as a page: it stands alone, escapes what comes from the file, links both ways and agrees with the JSON."""

from __future__ import annotations

import json
import re
from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser
from itertools import pairwise

import jsonschema
import pytest

from tests.report.books import MEASURED_AT, book, finding, inside_finding, judgement, unreadable
from worker.book import read_book
from worker.judge.models import Finding, Mark, Weight
from worker.measure.models import Measurements
from worker.profiles import Profile, builtin_profiles
from worker.report.compose import compose
from worker.report.html import render_html
from worker.report.models import Report
from worker.report.rows import row
from worker.report.text import render_text
from worker.words.catalogue import shipped

VOID = {"meta", "link", "img", "br", "hr", "input", "wbr", "base", "source", "col", "area", "embed", "track"}
FOLDING = {"path", "rect", "use", "circle", "line"}
"""SVG elements that hold nothing and may close themselves."""


class Read(HTMLParser):
    """A page as its tags and its text; complains of tags that are not closed in order."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []
        self._open: list[str] = []
        self.feed(page)
        self.close()
        assert self._open == [], f"left open: {self._open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        self._part(tag)
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self._open, f"{tag} closed and never opened"
        assert self._open[-1] == tag, f"{tag} closed inside {self._open[-1]}"
        self._open.pop()
        self._part(tag)

    def _part(self, tag: str) -> None:
        """A link stands within a sentence; other tags part what they hold from what is around."""
        if tag != "a":
            self.words.append(" ")

    def handle_data(self, data: str) -> None:
        if not self._open or self._open[-1] not in ("style", "title"):
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join("".join(self.words).split())

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attributes for name, attributes in self.tags if name == tag]

    @property
    def ids(self) -> list[str]:
        return [attributes["id"] for _, attributes in self.tags if "id" in attributes]


@pytest.fixture(scope="module")
def mono() -> Profile:
    return builtin_profiles()["ternhaven-mono"]


def made(measurements: Measurements, findings: tuple[Finding, ...], profile: Profile) -> tuple[Report, str]:
    pages = measurements.document.pages
    report = compose(
        measurements, read_book(measurements), judgement(findings, pages), profile, measured_at=MEASURED_AT
    )
    return report, render_html(report, measurements, profile)


def many(number: int, pages: int) -> tuple[Finding, ...]:
    weights = list(Weight)
    return tuple(
        finding(
            "small-type",
            weights[min(2, index * 3 // number)],
            tuple(range(1 + index % pages, pages + 1, 1 + index)),
            key=f"small-type/{index}",
            title=f"Finding {index}",
            marks=(Mark(page=1 + index % pages, box=(60, 60, 120, 72), text="5.5 pt"),),
        )
        for index in range(number)
    )


STATES: dict[str, tuple[Measurements, tuple[Finding, ...]]] = {
    "sound": (book(64), ()),
    "one flaw": (book(300, inside=27.4), (inside_finding((3, 17, 18, 19, 120)),)),
    "fifty findings": (book(96), many(50, 96)),
    "eight pages": (book(8), many(2, 8)),
    "one page": (book(1), many(1, 1)),
    "bound on the right": (book(41, binding="right"), many(3, 41)),
    "unreadable": (unreadable(), (finding("damaged-file", Weight.REFUSAL, (), title="The file is damaged"),)),
}


@pytest.fixture(params=list(STATES.values()), ids=list(STATES))
def state(request: pytest.FixtureRequest, mono: Profile) -> tuple[Report, str]:
    measurements, findings = request.param
    return made(measurements, findings, mono)


def test_the_page_stands_alone(state: tuple[Report, str]) -> None:
    """No address outside the file, nothing that would be fetched, no script; the policy in it forbids them too."""
    _, page = state
    read = Read(page)
    assert not re.search(r"https?:|//[a-z0-9]|data:|@import|javascript:", page, re.IGNORECASE)
    for tag, attributes in read.tags:
        assert tag not in ("script", "link", "img", "iframe", "object", "embed", "base", "form")
        assert not [name for name in attributes if name.startswith("on") or name in ("src", "srcset", "style")]
        assert attributes.get("href", "#").startswith("#")
    assert set(re.findall(r"url\((.*?)\)", page)) <= {"#hatching", "#hatching-on-paper"}


def test_the_policy_knows_the_style_by_its_hash(state: tuple[Report, str]) -> None:
    _, page = state
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)
    assert style is not None
    digest = b64encode(sha256(style[1].encode()).digest()).decode()
    (policy,) = [meta["content"] for meta in Read(page).all("meta") if "http-equiv" in meta]
    assert f"style-src 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none'")


def test_every_link_leads_somewhere_and_every_name_is_given_once(state: tuple[Report, str]) -> None:
    _, page = state
    read = Read(page)
    assert len(read.ids) == len(set(read.ids))
    targets = {attributes["href"][1:] for _, attributes in read.tags if "href" in attributes}
    assert targets <= set(read.ids)
    labels = {label for _, attributes in read.tags for label in attributes.get("aria-labelledby", "").split()}
    assert labels <= set(read.ids)


def test_findings_lead_to_their_pages_and_pages_to_their_findings(state: tuple[Report, str]) -> None:
    report, page = state
    for number, found in enumerate(report.findings, start=1):
        article = re.search(rf'<article id="f{number}".*?</article>', page, re.DOTALL)
        assert article is not None
        linked = [int(link) for link in re.findall(r'href="#p(\d+)"', article[0])]
        assert set(linked) <= set(found.pages)
        assert {found.pages[0], found.pages[-1]} <= set(linked) if found.pages else not linked
        for flagged in found.pages:
            half = re.search(rf'<g id="p{flagged}" .*?</g>', page, re.DOTALL)
            assert half is not None
            assert f'href="#f{number}"' in half[0]


def test_headings_do_not_skip_a_level_and_landmarks_are_there(state: tuple[Report, str]) -> None:
    _, page = state
    read = Read(page)
    levels = [int(tag[1]) for tag, _ in read.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))
    assert len(read.all("main")) == len(read.all("header")) == len(read.all("footer")) == 1
    assert read.all("html")[0]["lang"] == "en-GB"
    assert len(read.all("caption")) == len(read.all("table"))
    assert all("scope" in cell for cell in read.all("th"))
    for drawing in read.all("svg"):
        assert drawing.get("aria-label") or drawing.get("aria-hidden") == "true"


def test_page_and_text_and_json_say_the_same(state: tuple[Report, str], mono: Profile) -> None:
    report, page = state
    shown = Read(page).text
    text = " ".join(re.sub("[┃│┆]", " ", render_text(report, unit=mono.unit)).split())
    kept = json.loads(report.model_dump_json())
    assert kept["verdict"] == report.verdict.value
    caution = shipped("en").text("page.caution")
    for told in (shown, text):
        assert report.summary in told
        assert report.profile.name in told
        assert caution in told
        for found in kept["findings"]:
            assert all(found[field] in told for field in ("title", "detail", "effect", "remedy", "weight"))
        for setting in report.setup:
            words = row(setting, mono.unit)
            assert all(word in told for word in (words.name, words.measured, words.required, words.typed, words.note))
        for missed in kept["not_checked"]:
            assert missed["rule"] in told
            assert missed["why"] in told
    for found in report.findings:
        assert (found.page_ranges or "the whole file") in text


def test_the_report_as_data_is_what_its_schema_says(state: tuple[Report, str]) -> None:
    report, _ = state
    kept = json.loads(report.model_dump_json())
    jsonschema.Draft202012Validator.check_schema(schema := Report.model_json_schema(mode="serialization"))
    jsonschema.validate(kept, schema)
    assert kept["schema"] == "pressworthy.report/1"
    assert (kept["after_setup"] is None) == (report.pages == 0)
    again = Report.model_validate_json(report.model_dump_json())
    assert again.model_dump_json() == report.model_dump_json()


def test_nothing_is_told_by_signs_or_alarm_colours(state: tuple[Report, str]) -> None:
    """The look: no ticks, crosses, warning triangles or emoji; and no colour with red far above green and blue."""
    _, page = state
    assert not re.search("[\u2600-\u27bf\u2b00-\u2bff\u25b2\u25b3\u26a0\U0001f000-\U0001faff]", page)
    colours = set(re.findall(r"#([0-9a-f]{6})\b", page))
    assert colours
    for colour in colours:
        red, green, blue = (int(colour[at : at + 2], 16) for at in (0, 2, 4))
        assert red - min(green, blue) < 60, f"#{colour} is an alarm"


def test_same_input_same_page(mono: Profile) -> None:
    measurements, findings = STATES["fifty findings"]
    assert made(measurements, findings, mono)[1] == made(measurements, findings, mono)[1]


def test_markup_from_a_file_is_shown_as_text(mono: Profile) -> None:
    hostile = '"><script>alert(1)</script><img src=x onerror=alert(2)>&amp;'
    measurements = book(12, name=f"{hostile}.pdf", title=hostile)
    document = measurements.document.model_copy(
        update={"author": hostile, "producer": hostile, "layers": (hostile,), "pdfx": hostile}
    )
    fonts = tuple(font.model_copy(update={"name": hostile}) for font in measurements.fonts)
    measurements = measurements.model_copy(update={"document": document, "fonts": fonts})
    found = finding(
        "small-type",
        Weight.SPOILAGE,
        (3,),
        **dict.fromkeys(("title", "detail", "effect", "remedy"), hostile),
        marks=(Mark(page=3, box=(60, 60, 120, 72), text=hostile),),
    )
    profile = mono.model_copy(update={"name": hostile, "note": hostile})
    report, page = made(measurements, (found,), profile)
    read = Read(page)
    assert not read.all("script")
    assert not read.all("img")
    assert read.text.count(hostile) >= 10
    assert hostile in render_text(report, width=400)


def test_what_would_steer_a_terminal_or_turn_a_line_is_taken_out(mono: Profile) -> None:
    hostile = "tide\x1b[2Jtable\u202egnorw\x00\x9b31m.pdf"
    report, page = made(book(8, name=hostile, title=hostile), (), mono)
    text = render_text(report)
    for told in (page, text):
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]", told)
        assert "tide\ufffd[2Jtable\ufffdgnorw\ufffd\ufffd31m.pdf" in told
    page.encode()


def test_eight_hundred_pages_stay_under_three_megabytes(mono: Profile) -> None:
    """The contract's bound, on a novel of 37 lines a page with fifty findings on every other one of its pages."""
    everywhere = tuple(
        inside_finding(tuple(range(1 + number % 2, 801, 2))).model_copy(update={"key": f"inside-margin/{number}"})
        for number in range(50)
    )
    report, page = made(book(800), everywhere, mono)
    assert len(page.encode()) < 3_000_000
    assert len(report.model_dump_json()) < 3_000_000
    assert page.count("<li><svg") == 401


@pytest.mark.parametrize(
    ("binding", "pages", "spreads"),
    [
        ("left", 5, [(None, 1), (2, 3), (4, 5)]),
        ("left", 4, [(None, 1), (2, 3), (4, None)]),
        ("right", 5, [(1, None), (3, 2), (5, 4)]),
        ("right", 4, [(1, None), (3, 2), (None, 4)]),
    ],
)
def test_pages_face_each_other_as_in_the_bound_book(
    binding: str, pages: int, spreads: list[tuple[int | None, int | None]], mono: Profile
) -> None:
    """Left to right across each spread. Page 1 stands alone; on the right, or on the left in a book bound there."""
    _, page = made(book(pages, binding=binding), (), mono)
    found: list[tuple[int | None, ...]] = []
    for spread in re.findall(r"<li><svg.*?</li>", page, re.DOTALL):
        places = [(int(x), int(n)) for n, x in re.findall(r'<g id="p(\d+)" transform="translate\((\d+) ', spread)]
        if len(places) == 2:
            found.append(tuple(number for _, number in sorted(places)))
        else:
            x, number = places[0]
            found.append((number, None) if x < 60 else (None, number))
    assert found == spreads


def test_a_page_has_as_many_notches_as_its_edge_has_room_for(mono: Profile) -> None:
    """The gravest; the last place says how many more there are."""
    findings = tuple(inside_finding((3,)).model_copy(update={"key": f"inside-margin/{number}"}) for number in range(60))
    _, page = made(book(8), findings, mono)
    third = page.split('<g id="p3"')[1].split("</g>")[0]
    cut = [int(number) for number in re.findall(r'<a href="#f(\d+)"', third)]
    assert cut == list(range(1, len(cut) + 1))
    assert f"<title>Page 3: {60 - len(cut)} more findings</title>" in third
    places = [int(y) for y in re.findall(r'href="#notch" transform="translate\(-?\d+ (\d+)\)', third)]
    assert min(later - earlier for earlier, later in pairwise(places)) >= 15  # half the height of a notch
    assert all('<a href="#p3">3</a>' in one for one in page.split('<article id="f')[1:])


def test_of_very_many_pages_a_finding_shows_the_first_and_folds_the_others(mono: Profile) -> None:
    pages = tuple(range(1, 200, 2))
    _, page = made(book(200), (inside_finding(pages),), mono)
    finding = page.split('<article id="f1"')[1].split("</article>")[0]
    shown, folded = finding.split('<details class="where">')
    links = [[int(number) for number in re.findall(r'<a href="#p(\d+)">\d+</a>', part)] for part in (shown, folded)]
    assert links[0] == list(pages[:24])
    assert set(links[1]) >= set(pages[24:])
    _, short = made(book(200), (inside_finding(pages[:40]),), mono)
    assert "<details" not in short


def test_a_notch_is_cut_in_the_outer_edge(mono: Profile) -> None:
    _, page = made(book(4), (finding("small-type", Weight.SPOILAGE, (2, 3)),), mono)
    verso = re.search(r'<g id="p2".*?</g>', page, re.DOTALL)
    recto = re.search(r'<g id="p3".*?</g>', page, re.DOTALL)
    assert verso is not None
    assert recto is not None
    assert re.search(r'href="#notch" transform="translate\(0 \d+\)"', verso[0])
    assert re.search(r'href="#notch" transform="translate\(224 \d+\) scale\(-1 1\)"', recto[0])


def test_the_fore_edge_has_a_line_for_each_leaf_and_leads_to_flagged_ones(mono: Profile) -> None:
    _, page = made(book(9), (finding("small-type", Weight.POLISH, (4, 9)),), mono)
    drawing = re.search(r'<svg class="fore-edge".*?</svg>', page, re.DOTALL)
    assert drawing is not None
    assert drawing[0].count("M") == 5
    assert re.findall(r'href="#p(\d+)" class="polish"', drawing[0]) == ["4", "9"]


def test_a_page_that_could_not_be_read_says_so(mono: Profile) -> None:
    measurements = book(4)
    torn = measurements.pages[2].model_copy(update={"unread": "its content stream is broken", "lines": ()})
    measurements = measurements.model_copy(update={"pages": (*measurements.pages[:2], torn, measurements.pages[3])})
    _, page = made(measurements, (), mono)
    assert "3 not read" in Read(page).text
    assert 'class="unread"' in page


def test_what_was_judged_as_a_longer_book_says_so(mono: Profile) -> None:
    measurements = book(12)
    report = compose(
        measurements, read_book(measurements), judgement((), 12, judged_as=400), mono, measured_at=MEASURED_AT
    )
    told = "12 pages; it was judged as part of a book of 400"
    assert told in Read(render_html(report, measurements, mono)).text
    assert "12, judged as part of a book of 400" in render_text(report)


PICTURE = b"RIFF\x0c\0\0\0WEBPVP8L"
"""How a WebP file begins (RFC 9649, 2.4); enough where nobody looks at it."""


def three_marks(pages: tuple[int, ...], **more: object) -> Finding:
    marks = tuple(Mark(page=page, box=(60, 60, 120, 72), text="5.5 pt") for page in pages)
    return finding("small-type", Weight.SPOILAGE, tuple(sorted(set(pages))), marks=marks, **more)


def pictured(findings: tuple[Finding, ...], pages: int, pictures: dict[int, bytes], profile: Profile) -> str:
    measurements = book(pages)
    report = compose(
        measurements, read_book(measurements), judgement(findings, pages), profile, measured_at=MEASURED_AT
    )
    return render_html(report, measurements, profile, pictures=pictures)


def plates(page: str) -> list[tuple[str, str]]:
    """Each plate's class and what it says it is."""
    return re.findall(r'<svg class="(plate[^"]*)"[^>]* aria-label="([^"]*)"', page)


def test_the_worst_pages_are_shown_three_at_most_and_each_once(mono: Profile) -> None:
    page = pictured((three_marks((9, 3, 9, 5, 7)), three_marks((4,), key="small-type/b")), 12, {}, mono)
    shown = [label for _, label in plates(page)]
    assert shown == [f"Page {number}, drawn from the measurements" for number in (9, 3, 5, 4)]


def test_a_page_without_a_picture_is_drawn_from_the_measurements(mono: Profile) -> None:
    page = pictured((three_marks((9, 3, 5)),), 12, {3: PICTURE, 11: PICTURE}, mono)
    assert plates(page) == [
        ("plate", "Page 9, drawn from the measurements"),
        ("plate pictured", "Page 3, a picture of the page"),
        ("plate", "Page 5, drawn from the measurements"),
    ]
    assert page.count("data:image/webp;base64,") == 1, "a picture that no plate shows is left out"


def test_a_page_that_several_findings_show_is_embedded_once(mono: Profile) -> None:
    page = pictured((three_marks((3,)), three_marks((3,), key="small-type/b")), 12, {3: PICTURE}, mono)
    assert page.count("data:image/webp;base64,") == 1
    assert page.count('<use href="#picture-3"/>') == 2
    read = Read(page)
    assert len(read.ids) == len(set(read.ids))
    assert {attributes["href"][1:] for attributes in read.all("use")} <= set(read.ids)


def test_the_policy_allows_the_pictures_of_the_page_itself_where_there_are_any(mono: Profile) -> None:
    for pictures, asked in (({3: PICTURE}, ["img-src data:"]), ({}, [])):
        page = pictured((three_marks((3,)),), 12, pictures, mono)
        (policy,) = [meta["content"] for meta in Read(page).all("meta") if "http-equiv" in meta]
        rules = [rule.strip() for rule in policy.split(";")]
        assert [rule for rule in rules if "img" in rule or "data" in rule] == asked
        assert "default-src 'none'" in rules


def test_eight_hundred_pages_and_fifty_findings_with_pictures_stay_under_three_megabytes(mono: Profile) -> None:
    """The contract's bound. Pictures as large as they may be: those that come first in the report have room."""
    findings = tuple(
        three_marks(
            tuple((17 * index + 5 * turn) % 800 + 1 for turn in range(3)), key=f"small-type/{index}"
        ).model_copy(update={"pages": tuple(range(index + 1, 801, 8))})
        for index in range(50)
    )
    large = PICTURE + bytes(110_000)
    page = pictured(findings, 800, dict.fromkeys(range(1, 801), large), mono)
    assert len(page.encode()) < 3_000_000
    assert page.count("data:image/webp;base64,") >= 5
    assert plates(page)[0][0] == "plate pictured"
    assert len(plates(page)) == 90


def test_where_there_is_no_room_the_pictures_are_left_out(mono: Profile) -> None:
    """Every finding on every one of very many pages: the links alone are more than the bound."""
    everywhere = tuple(
        inside_finding(tuple(range(1, 2001))).model_copy(update={"key": f"inside-margin/{number}"})
        for number in range(30)
    )
    pages = (1, 2, 3)
    page = pictured(everywhere, 2000, dict.fromkeys(pages, PICTURE + bytes(100_000)), mono)
    assert page == pictured(everywhere, 2000, {}, mono)
