"""Links and other annotations (ISO 32000-1 12.5, 12.6.4)."""

from __future__ import annotations

from pathlib import Path

import pytest
from pikepdf import Array, Dictionary, Name, String

from tests.corpora import ANNOTATIONS, DEBIAN_REFERENCE, R_EXTS, source_pdf
from tests.measure.build import Sheet
from tests.measured import facts_of
from worker.measure import measure
from worker.measure.models import Measurements


def _annotated(folder: Path, *annotations: Dictionary, **keys: object) -> Measurements:
    sheet = Sheet()
    for annotation in annotations:
        annotation.Type = Name.Annot
        annotation.Rect = [109, 109, 209, 159]
    keys.setdefault("media", (0, 0, 450, 666))
    sheet.page(TrimBox=[9, 9, 441, 657], Annots=Array(annotations), **keys)  # type: ignore[arg-type]
    return sheet.measured(folder)


def _link(action: Dictionary) -> Dictionary:
    return Dictionary(Subtype=Name.Link, A=action)


LINKS = {
    "uri": (_link(Dictionary(S=Name.URI, URI=String("https://tern-island.example/books"))), "https://tern-island.example/books"),
    "goto": (_link(Dictionary(S=Name.GoTo, D=String("chapter-1"))), None),
    "gotor": (_link(Dictionary(S=Name.GoToR, F=String("other.pdf"), D=Array([0, Name.Fit]))), "other.pdf"),
    "launch": (_link(Dictionary(S=Name.Launch, F=String("press.exe"))), "press.exe"),
    "named": (_link(Dictionary(S=Name.Named, N=Name.NextPage)), "NextPage"),
    "javascript": (_link(Dictionary(S=Name.JavaScript, JS=String("app.beep()"))), None),
    "other": (_link(Dictionary(S=Name.Sound)), None),
}  # fmt: skip


@pytest.mark.parametrize("kind", LINKS)
def test_kinds_of_links(tmp_path: Path, kind: str) -> None:
    annotation, target = LINKS[kind]
    measurements = _annotated(tmp_path, annotation)
    (link,) = measurements.links
    assert link.kind == kind
    assert link.page == 1
    assert link.box == pytest.approx((100, 100, 200, 150), abs=0.01)
    if target:
        assert link.target == target
    assert measurements.annotations == ()


def test_a_destination_without_an_action_goes_to_a_page(tmp_path: Path) -> None:
    (link,) = _annotated(tmp_path, Dictionary(Subtype=Name.Link, Dest=String("chapter-1"))).links
    assert link.kind == "goto"


def test_the_box_turns_with_the_page(tmp_path: Path) -> None:
    (link,) = _annotated(tmp_path, Dictionary(Subtype=Name.Link, Dest=String("x")), Rotate=90).links
    assert link.box == pytest.approx((100, 432 - 200, 150, 432 - 100), abs=0.01)


@pytest.mark.parametrize("kind", ["Text", "Highlight", "FreeText", "Stamp"])
def test_other_annotations(tmp_path: Path, kind: str) -> None:
    measurements = _annotated(tmp_path, Dictionary(Subtype=Name(f"/{kind}"), Contents=String("See me")))
    assert measurements.links == ()
    (annotation,) = measurements.annotations
    assert annotation.kind.lower() == kind.lower()
    assert annotation.box == pytest.approx((100, 100, 200, 150), abs=0.01)


def test_annotations_that_are_no_dictionaries(tmp_path: Path) -> None:
    sheet = Sheet().page(Annots=Array([1, Name.Link, String("x"), Array([])])).page(Annots=Name.Nothing)
    measurements = sheet.measured(tmp_path)
    assert measurements.links == ()
    assert [page.unread for page in measurements.pages] == [None, None]


# Counted once with pikepdf alone, page by page over the pages own Annots.
MANUALS = [
    pytest.param(R_EXTS.path, 1225, marks=R_EXTS.missing, id="R-exts"),
    pytest.param(ANNOTATIONS.path, 4864, marks=ANNOTATIONS.missing, id="cplusplus"),
    pytest.param(DEBIAN_REFERENCE.path, 4580, marks=DEBIAN_REFERENCE.missing, id="debian-reference"),
]


@pytest.mark.parametrize(("path", "count"), MANUALS)
def test_links_of_real_manuals(path: Path, count: int) -> None:
    assert len(facts_of(path).links) == count


def test_a_link_of_a_library_file() -> None:
    """The file was made to hold one link to a web address."""
    links = measure(source_pdf("ocrmypdf", "tests/resources/link.pdf")).links
    assert links
    assert all(link.kind in ("uri", "goto") for link in links)
