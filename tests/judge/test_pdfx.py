"""PDF/X: files of other makers that are what they say pass, one that was changed afterwards does not, and a sound file
with one thing changed fails in just that.

What the parts of ISO 15930 ask is from memory; that it is asked rightly shows in the files of other makers.
"""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream, String
from pikepdf.models import PdfMetadata
from PIL import ImageCms

from tests.corpora import source_pdf
from tests.judge.factory import PROFILE
from tests.measure.build import helvetica, picture
from tests.needs import needs_ghostscript
from worker.judge import judge
from worker.judge.models import Finding, Weight
from worker.judge.pdfx import LEVELS
from worker.measure import measure
from worker.measure.models import Measurements
from worker.profiles import Profile, parse_profile_toml
from worker.words.catalogue import shipped

POINTS = shipped("en").names("pdfx.points")
SAMPLE = Path(__file__).resolve().parents[2] / "sample_pdfs/tide-tables.pdf"
"""A sound PDF/X-1a:2003, declared, like every sample book, in ``sample_pdfs/README.md``."""


def asking(*levels: str) -> Profile:
    return parse_profile_toml(PROFILE + f"[interior.file]\npdfx = {list(levels)}\n".replace("'", '"'))


def found(measurements: Measurements, *levels: str) -> list[Finding]:
    by = asking(*(levels or LEVELS))
    return [finding for finding in judge(measurements, by).findings if finding.rule == "pdfx-conformance"]


# Made by others: PDF/X-3 by a layout program (among the pictures of a scanning tool's tests), PDF/X-4 by another one.
REAL = [
    ("ocrmypdf", "tests/resources/francais.pdf", "PDF/X-3:2002"),
    ("ocrmypdf", "tests/resources/cmyk.pdf", "PDF/X-3:2002"),
    ("pikepdf", "tests/resources/pdfx.pdf", "PDF/X-4"),
]


@pytest.mark.parametrize(("package", "name", "level"), REAL)
def test_real_files_are_what_they_say(package: str, name: str, level: str) -> None:
    measurements = measure(source_pdf(package, name))
    assert measurements.document.pdfx == level
    assert found(measurements, level) == []
    reasons = {each.rule: each.why for each in judge(measurements, asking(level)).not_checked}
    assert "no full test of conformance" in reasons["pdfx-conformance"]


def test_a_real_file_that_was_changed_afterwards() -> None:
    """The first of them after text recognition: PDF 1.5 with object streams, and its TrimBox lost."""
    (finding,) = found(measure(source_pdf("pikepdf", "tests/resources/pdfa/francais_ocr_sandwich.pdf")))
    assert finding.key == "pdfx-conformance/broken"
    assert "in 3 points" in finding.detail
    assert "ISO 15930-3" in finding.detail
    assert finding.pages == (1,)
    assert "a TrimBox on every page" in finding.remedy


POSTSCRIPT = """%!
[ /GTS_PDFXVersion (PDF/X-3:2002) /Title (The Low Light) /Trapped /False /DOCINFO pdfmark
[ /_objdef {intent} /type /dict /OBJ pdfmark
[ {intent} << /Type /OutputIntent /S /GTS_PDFX /OutputConditionIdentifier (FOGRA39)
  /RegistryName (http://www.color.org) /Info (none) >> /PUT pdfmark
[ {Catalog} << /OutputIntents [ {intent} ] >> /PUT pdfmark
<< /PageSize [432 648] >> setpagedevice
/Times-Roman findfont 20 scalefont setfont 72 500 moveto (The Low Light) show showpage
"""


@needs_ghostscript
def test_a_file_by_ghostscript(tmp_path: Path) -> None:
    """Its PDF/X-3:2002, which sets a TrimBox and embeds the fonts by itself; with these switches."""
    source, path = tmp_path / "page.ps", tmp_path / "page.pdf"
    source.write_text(POSTSCRIPT)
    call = ["gs", "-q", "-dPDFX", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pdfwrite", "-sColorConversionStrategy=CMYK"]
    subprocess.run([*call, f"-o{path}", source], check=True, timeout=60)
    assert found(measure(path), "PDF/X-3:2002") == []
    (finding,) = found(measure(path), "PDF/X-1a:2003", "PDF/X-4")
    assert finding.key == "pdfx-conformance/other"
    assert "PDF/X-3:2002; this printer takes PDF/X-1a:2003 or PDF/X-4" in finding.detail


def test_a_file_that_claims_nothing(tmp_path: Path) -> None:
    path = tmp_path / "plain.pdf"
    with _sample() as pdf:
        del pdf.docinfo["/GTS_PDFXVersion"]
        pdf.save(path)
    (finding,) = found(measure(path), "PDF/X-1a:2003")
    assert (finding.key, finding.weight) == ("pdfx-conformance/none", Weight.REFUSAL)


def test_a_level_that_is_not_tested_is_said_to_be() -> None:
    sound = measure(SAMPLE)
    later = sound.model_copy(update={"document": sound.document.model_copy(update={"pdfx": "PDF/X-6"})})
    assert found(later, "PDF/X-6") == []
    reasons = {each.rule: each.why for each in judge(later, asking("PDF/X-6")).not_checked}
    assert "does not test" in reasons["pdfx-conformance"]


def _sample() -> pikepdf.Pdf:
    """The first two pages of the sample, to be changed."""
    pdf = pikepdf.open(SAMPLE)
    del pdf.pages[2:]
    return pdf


def _draw(pdf: pikepdf.Pdf, content: bytes, **resources: Dictionary) -> None:
    page = pdf.pages[1]
    for key, value in resources.items():
        page.obj.Resources[f"/{key}"] = value
    page.contents_add(pikepdf.Stream(pdf, content))


def _annotate(pdf: pikepdf.Pdf, box: list[float]) -> None:
    link = Dictionary(
        Type=Name.Annot, Subtype=Name.Link, Rect=box, A=Dictionary(S=Name.URI, URI=String("tern.example"))
    )
    pdf.pages[1].obj.Annots = Array([link])


def _forget(pdf: pikepdf.Pdf, info: str, xmp: str) -> None:
    if info in pdf.docinfo:
        del pdf.docinfo[info]
    with pdf.open_metadata(set_pikepdf_as_editor=False) as metadata:
        if xmp in metadata:
            del metadata[xmp]


def _untrap(pdf: pikepdf.Pdf) -> None:
    _forget(pdf, "/Trapped", "pdf:Trapped")


def _trap_unknown(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo["/Trapped"] = Name.Unknown


def _forget_title(pdf: pikepdf.Pdf) -> None:
    _forget(pdf, "/Title", "dc:title")


def _forget_change(pdf: pikepdf.Pdf) -> None:
    _forget(pdf, "/ModDate", "xmp:ModifyDate")


def _forget_intents(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.OutputIntents


def _two_intents(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OutputIntents.append(pdf.make_indirect(Dictionary(dict(pdf.Root.OutputIntents[0]))))


def _nameless_condition(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.OutputIntents[0].OutputConditionIdentifier


def _no_registry(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.OutputIntents[0].RegistryName


def _screen_profile(pdf: pikepdf.Pdf) -> None:
    profile = Stream(pdf, ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile.N = 3
    pdf.Root.OutputIntents[0].DestOutputProfile = pdf.make_indirect(profile)


def _no_trim(pdf: pikepdf.Pdf) -> None:
    del pdf.pages[1].obj.TrimBox


def _art_too(pdf: pikepdf.Pdf) -> None:
    pdf.pages[1].obj.ArtBox = pdf.pages[1].obj.TrimBox


def _bleed_within_trim(pdf: pikepdf.Pdf) -> None:
    x0, y0, x1, y1 = (float(value) for value in pdf.pages[1].obj.TrimBox)
    pdf.pages[1].obj.BleedBox = Array([x0 + 9, y0 + 9, x1 - 9, y1 - 9])


def _trim_beyond_media(pdf: pikepdf.Pdf) -> None:
    x0, y0, x1, y1 = (float(value) for value in pdf.pages[1].obj.MediaBox)
    pdf.pages[1].obj.TrimBox = Array([x0, y0, x1 + 9, y1])


def _helvetica(pdf: pikepdf.Pdf) -> None:
    _draw(pdf, b"q BT /H 11 Tf 72 300 Td (Bring planks) Tj ET Q", Font=Dictionary(H=helvetica()))


def _red(pdf: pikepdf.Pdf) -> None:
    _draw(pdf, b"q 1 0 0 rg 100 100 50 50 re f Q")


def _see_through(pdf: pikepdf.Pdf) -> None:
    _draw(pdf, b"q /T gs 100 100 50 50 re f Q", ExtGState=Dictionary(T=Dictionary(ca=0.5)))


def _jpeg_2000(pdf: pikepdf.Pdf) -> None:
    image = picture(pdf, Filter=Name.JPXDecode)
    _draw(pdf, b"q 72 0 0 48 100 100 cm /J Do Q", XObject=Dictionary(J=image))


def _layer(pdf: pikepdf.Pdf) -> None:
    group = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("Proof marks")))
    pdf.Root.OCProperties = Dictionary(OCGs=Array([group]), D=Dictionary(Order=Array([group])))


def _script(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OpenAction = Dictionary(S=Name.JavaScript, JS=String("app.beep()"))


def _link(pdf: pikepdf.Pdf) -> None:
    _annotate(pdf, [100, 100, 200, 120])


def _link_in_the_bleed(pdf: pikepdf.Pdf) -> None:
    _widen(pdf)
    _annotate(pdf, [-6, 100, -2, 120])


def _link_off_the_page(pdf: pikepdf.Pdf) -> None:
    _widen(pdf)
    _annotate(pdf, [-30, 100, -12, 120])


def _widen(pdf: pikepdf.Pdf) -> None:
    """A page with room around it and 9 pt of bleed."""
    page = pdf.pages[1].obj
    x0, y0, x1, y1 = (float(value) for value in page.TrimBox)
    page.MediaBox = page.CropBox = Array([x0 - 36, y0 - 36, x1 + 36, y1 + 36])
    page.BleedBox = Array([x0 - 9, y0 - 9, x1 + 9, y1 + 9])


def _key_in_xmp_alone(pdf: pikepdf.Pdf) -> None:
    del pdf.docinfo["/GTS_PDFXVersion"]
    PdfMetadata.register_xml_namespace("http://www.npes.org/pdfx/ns/id/", "pdfxid")
    with pdf.open_metadata(set_pikepdf_as_editor=False) as metadata:
        metadata["{http://www.npes.org/pdfx/ns/id/}GTS_PDFXVersion"] = "PDF/X-1a:2003"


FAULTS: list[tuple[str, Callable[[pikepdf.Pdf], None]]] = [
    ("key-in-info", _key_in_xmp_alone), ("trapped", _untrap), ("trapped", _trap_unknown), ("title", _forget_title),
    ("dates", _forget_change), ("no-intent", _forget_intents), ("several-intents", _two_intents),
    ("condition", _nameless_condition), ("registry", _no_registry), ("profile-class", _screen_profile),
    ("no-cut", _no_trim), ("two-cuts", _art_too), ("nesting", _bleed_within_trim), ("nesting", _trim_beyond_media),
    ("fonts", _helvetica), ("colour", _red), ("transparency", _see_through), ("compression", _jpeg_2000),
    ("layers", _layer), ("actions", _script), ("annotations", _link), ("annotations", _link_in_the_bleed),
]  # fmt: skip
OF_A_PAGE = {"no-cut", "two-cuts", "nesting", "fonts", "colour", "transparency", "compression", "annotations"}
OPTIONS: dict[str, dict[str, object]] = {
    "version": {"force_version": "1.5"},
    "encryption": {"encryption": pikepdf.Encryption(owner="lamp", user="", R=3, allow=pikepdf.Permissions(), aes=False,
                                                    metadata=False)},
    "object-streams": {"object_stream_mode": pikepdf.ObjectStreamMode.generate, "force_version": "1.5"},
}  # fmt: skip


def _points(finding: Finding) -> set[str]:
    """The points that the finding speaks of, by the words that all their texts end in."""
    return {what for what in POINTS if _text(what, "wrong").split("{pages}")[-1] in finding.detail}


def _text(what: str, part: str) -> str:
    return shipped("en").text(f"pdfx.points.{what}.{part}")


@pytest.fixture
def changed(tmp_path: Path) -> Callable[..., Measurements]:
    def measured(fault: Callable[[pikepdf.Pdf], None] | None = None, **options: object) -> Measurements:
        path = tmp_path / "changed.pdf"
        keep: dict[str, object] = {"object_stream_mode": pikepdf.ObjectStreamMode.disable, "force_version": "1.4"}
        with _sample() as pdf:
            if fault is not None:
                fault(pdf)
            pdf.save(path, **keep | options)  # type: ignore[arg-type]
        return measure(path)

    return measured


@pytest.mark.parametrize("fault", [None, _link_off_the_page])
def test_a_sound_file(changed: Callable[..., Measurements], fault: Callable[[pikepdf.Pdf], None] | None) -> None:
    assert found(changed(fault)) == []


@pytest.mark.parametrize(("what", "fault"), FAULTS, ids=[f"{what}-{fault.__name__}" for what, fault in FAULTS])
def test_one_fault_is_one_point(
    changed: Callable[..., Measurements], what: str, fault: Callable[[pikepdf.Pdf], None]
) -> None:
    (finding,) = found(changed(fault))
    assert _points(finding) == {what}
    assert "in one point" in finding.detail
    assert finding.pages == ((2,) if what in OF_A_PAGE else ())
    assert _text(what, "set").split("{")[0] in finding.remedy


@pytest.mark.parametrize(("what", "options"), OPTIONS.items())
def test_ways_of_saving(changed: Callable[..., Measurements], what: str, options: dict[str, object]) -> None:
    (finding,) = found(changed(**options))
    assert what in _points(finding)


def test_the_file_identifier_and_the_profile_of_pdfx_4() -> None:
    """qpdf always writes an identifier, so the fact is changed; PDF/X-4 wants the profile itself and its key in XMP."""
    sound = measure(source_pdf("pikepdf", "tests/resources/pdfx.pdf"))
    facts = sound.document.pdfx_facts.model_copy(update={"identifier": False, "in_xmp": None})
    intent = sound.document.output_intents[0].model_copy(update={"profile_embedded": False, "profile_class": None})
    document = sound.document.model_copy(update={"pdfx_facts": facts, "output_intents": (intent,)})
    (finding,) = found(sound.model_copy(update={"document": document}))
    assert _points(finding) == {"identifier", "profile", "key-in-xmp"}


def test_every_point_has_its_test() -> None:
    tested = {what for what, _ in FAULTS} | set(OPTIONS) | {"identifier", "profile", "key-in-xmp"}
    assert tested == set(POINTS)
