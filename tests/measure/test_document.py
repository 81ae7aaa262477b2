"""Facts of the whole file: version, metadata, PDF/X, intents, layers, active content, encryption."""

from __future__ import annotations

import hashlib
import re
import subprocess
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Object, Stream, String

from tests.corpora import MEMOIR, source_pdf
from tests.hostile.damage import LOST_PAGES, lost_page
from tests.measure.build import Sheet, size
from tests.measured import facts_of
from tests.needs import needs_poppler, needs_qpdf
from worker.measure import measure
from worker.measure.models import Document


def _document(folder: Path, sheet: Sheet) -> Document:
    return sheet.measured(folder).document


def test_the_file_itself(tmp_path: Path) -> None:
    path = Sheet().page().save(tmp_path / "a book.pdf")
    data = path.read_bytes()
    file = measure(path).file
    assert (file.name, file.bytes) == ("a book.pdf", len(data))
    assert file.sha256 == hashlib.sha256(data).hexdigest()
    assert measure(path, name="upload.pdf").file.name == "upload.pdf"


@pytest.mark.parametrize("version", ["1.3", "1.4", "1.7", "2.0"])
def test_version(tmp_path: Path, version: str) -> None:
    path = tmp_path / "sheet.pdf"
    Sheet().page().pdf.save(path, force_version=version)
    assert measure(path).document.pdf_version == version


def test_metadata_in_any_script(tmp_path: Path) -> None:
    sheet = Sheet().page()
    sheet.pdf.docinfo["/Title"] = String("Ø og tårn – Остров")
    sheet.pdf.docinfo["/Author"] = String("Ottilie Varne")
    document = _document(tmp_path, sheet)
    assert document.title == "Ø og tårn – Остров"
    assert document.author == "Ottilie Varne"


def test_no_metadata_is_none(tmp_path: Path) -> None:
    document = _document(tmp_path, Sheet().page())
    assert document.title is None
    assert document.author is None


# The identification keys of ISO 15930: in the Info dictionary up to PDF/X-3, in XMP from PDF/X-4 on.
INFO_KEYS = [
    ({"/GTS_PDFXVersion": "PDF/X-1:2001", "/GTS_PDFXConformance": "PDF/X-1a:2001"}, "PDF/X-1a:2001"),
    ({"/GTS_PDFXVersion": "PDF/X-1a:2003"}, "PDF/X-1a:2003"),
    ({"/GTS_PDFXVersion": "PDF/X-3:2002"}, "PDF/X-3:2002"),
    ({"/GTS_PDFXVersion": "PDF/X-1a:2001"}, "PDF/X-1a:2001"),  # written so by a TeX macro package
    ({}, None),
]


@pytest.mark.parametrize(("keys", "pdfx"), INFO_KEYS)
def test_pdfx_in_the_info_dictionary(tmp_path: Path, keys: dict[str, str], pdfx: str | None) -> None:
    sheet = Sheet().page()
    for key, value in keys.items():
        sheet.pdf.docinfo[key] = String(value)
    assert _document(tmp_path, sheet).pdfx == pdfx


XMP = b"""<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF
 xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">%s</rdf:RDF></x:xmpmeta><?xpacket end="w"?>"""
NS = b'xmlns:pdfxid="http://www.npes.org/pdfx/ns/id/"'
ELEMENT = b'<rdf:Description rdf:about="" %s><pdfxid:GTS_PDFXVersion>PDF/X-4</pdfxid:GTS_PDFXVersion></rdf:Description>'
DECLARED_THERE = (
    b'<rdf:Description rdf:about=""><pdfxid:GTS_PDFXVersion %s>PDF/X-4</pdfxid:GTS_PDFXVersion></rdf:Description>'
)
ATTRIBUTE = b'<rdf:Description rdf:about="" %s pdfxid:GTS_PDFXVersion="PDF/X-4"/>'


@pytest.mark.parametrize("form", [ELEMENT, ATTRIBUTE, DECLARED_THERE], ids=["element", "attribute", "declared there"])
def test_pdfx_in_xmp(tmp_path: Path, form: bytes) -> None:
    sheet = Sheet().page()
    packet = Stream(sheet.pdf, XMP % (form % NS))
    packet.stream_dict = Dictionary(Type=Name.Metadata, Subtype=Name.XML)
    sheet.pdf.Root.Metadata = sheet.pdf.make_indirect(packet)
    assert _document(tmp_path, sheet).pdfx == "PDF/X-4"


def test_a_title_in_xmp_is_plain_text(tmp_path: Path) -> None:
    """Entities are those of XML 1.0, 4.6. A NUL is no text in XML, and no database of PostgreSQL takes it."""
    sheet = Sheet().page()
    title = b"<dc:title><rdf:Alt><rdf:li xml:lang='en'>Salt &amp; Wind\x00rack</rdf:li></rdf:Alt></dc:title>"
    packet = Stream(sheet.pdf, XMP % title)
    packet.stream_dict = Dictionary(Type=Name.Metadata, Subtype=Name.XML)
    sheet.pdf.Root.Metadata = sheet.pdf.make_indirect(packet)
    sheet.pdf.save(tmp_path / "sheet.pdf", fix_metadata_version=False)  # which would mend it
    assert measure(tmp_path / "sheet.pdf").document.title == "Salt & Windrack"


def test_a_real_pdfx4_file() -> None:
    document = measure(source_pdf("pikepdf", "tests/resources/pdfx.pdf")).document
    assert document.pdfx == "PDF/X-4"
    assert [intent.subtype for intent in document.output_intents] == ["GTS_PDFX"]


def test_what_pdfx_asks_of_dictionaries(tmp_path: Path) -> None:
    sheet = Sheet().page()
    info = sheet.pdf.docinfo
    info["/GTS_PDFXVersion"], info["/GTS_PDFXConformance"] = String("PDF/X-1:2001"), String("PDF/X-1a:2001")
    info["/Trapped"], info["/CreationDate"] = Name("/False"), String("D:20260901120000Z")
    path = tmp_path / "sheet.pdf"
    sheet.pdf.save(path, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    facts = measure(path).document.pdfx_facts
    assert (facts.in_info, facts.conformance, facts.in_xmp) == ("PDF/X-1:2001", "PDF/X-1a:2001", None)
    assert (facts.trapped, facts.created, facts.modified) == ("False", True, False)
    assert facts.identifier  # qpdf writes one
    assert facts.object_streams
    sheet.pdf.save(path, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    assert not measure(path).document.pdfx_facts.object_streams


def test_the_version_of_the_catalogue_counts_where_it_is_later(tmp_path: Path) -> None:
    """ISO 32000-1 7.5.2. qpdf says the header's."""
    for later, version in (("1.7", "1.7"), ("1.3", "1.4"), ("rubbish", "1.4")):
        sheet = Sheet().page()
        sheet.pdf.Root.Version = Name(f"/{later}")
        path = tmp_path / "sheet.pdf"
        sheet.pdf.save(path, force_version="1.4")
        assert measure(path).document.pdf_version == version


def test_output_intent(tmp_path: Path) -> None:
    sheet = Sheet().page()
    profile = Stream(sheet.pdf, b"not read")
    profile.N = 4
    intent = Dictionary(
        S=Name.GTS_PDFX,
        OutputConditionIdentifier=String("FOGRA39"),
        RegistryName=String("http://www.color.org"),
        DestOutputProfile=sheet.pdf.make_indirect(profile),
    )
    sheet.pdf.Root.OutputIntents = Array([intent])
    (found,) = _document(tmp_path, sheet).output_intents
    assert (found.subtype, found.condition, found.registry) == ("GTS_PDFX", "FOGRA39", "http://www.color.org")
    assert (found.profile_embedded, found.profile_components) == (True, 4)


def test_nothing_active_in_a_plain_file(tmp_path: Path) -> None:
    document = _document(tmp_path, Sheet().page())
    assert (document.javascript, document.embedded_files, document.form_fields) == (False, 0, 0)
    assert (document.layers, document.encrypted, document.repaired, document.unreadable) == ((), False, False, None)


def _script() -> Dictionary:
    return Dictionary(S=Name.JavaScript, JS=String("app.alert('tern')"))


def test_javascript_wherever_it_hides(tmp_path: Path) -> None:
    """In the catalogue's open action, among the named scripts, in a page's actions, in a link."""
    at_open, named, on_page, in_link = Sheet().page(), Sheet().page(), Sheet().page(), Sheet()
    at_open.pdf.Root.OpenAction = _script()
    named.pdf.Root.Names = Dictionary(JavaScript=Dictionary(Names=Array([String("a"), _script()])))
    on_page.pdf.pages[0].obj.AA = Dictionary(O=_script())
    link = Dictionary(Type=Name.Annot, Subtype=Name.Link, Rect=[9, 9, 99, 99], A=_script())
    in_link.page(Annots=Array([link]))
    for sheet in (at_open, named, on_page, in_link):
        assert _document(tmp_path, sheet).javascript


def _kinds(document: Document) -> dict[str, tuple[int, ...]]:
    return {each.what: each.pages for each in document.active}


def _link(**keys: Object) -> Dictionary:
    return Dictionary(None, Type=Name.Annot, Subtype=Name.Link, Rect=[9, 9, 99, 99], **keys)


def _action(kind: str, **keys: Object) -> Dictionary:
    return Dictionary(None, S=Name(f"/{kind}"), **keys)


# ISO 32000-1 Table 198: the types of actions. Going to a page is none that acts; a web address on a link is a link.
ON_A_LINK = {
    "GoTo": None, "GoToR": None, "GoToE": None, "Thread": None, "URI": None, "Launch": "Launch", "Sound": "Sound",
    "Movie": "Movie", "Hide": "Hide", "SubmitForm": "SubmitForm", "ResetForm": "ResetForm", "ImportData": "ImportData",
    "JavaScript": "JavaScript", "SetOCGState": "SetOCGState", "Rendition": "Rendition", "Trans": "Trans",
    "GoTo3DView": "GoTo3DView", "Frobnicate": "other",
}  # fmt: skip


@pytest.mark.parametrize(("kind", "what"), ON_A_LINK.items())
def test_what_a_link_does(tmp_path: Path, kind: str, what: str | None) -> None:
    sheet = Sheet().page().page(Annots=Array([_link(A=_action(kind))]))
    assert _kinds(_document(tmp_path, sheet)) == ({what: (2,)} if what else {})


@pytest.mark.parametrize(("named", "acts"), [("NextPage", False), ("LastPage", False), ("Print", True)])
def test_named_actions_turn_pages_or_act(tmp_path: Path, named: str, acts: bool) -> None:
    """ISO 32000-1 Table 211 names the four that turn pages."""
    sheet = Sheet().page(Annots=Array([_link(A=_action("Named", N=Name(f"/{named}")))]))
    assert _kinds(_document(tmp_path, sheet)) == ({"Named": (1,)} if acts else {})


def test_actions_are_followed_along_their_chain(tmp_path: Path) -> None:
    """Next may hold one action or several (12.6.2); a chain that bites its tail ends."""
    sheet = Sheet()
    first = sheet.pdf.make_indirect(_action("GoTo"))
    first.Next = Array([_action("URI"), _action("Hide", Next=_action("Launch", Next=first))])
    sheet.page(Annots=Array([_link(A=first)]))
    assert _kinds(_document(tmp_path, sheet)) == {"Hide": (1,), "Launch": (1,)}


@pytest.mark.parametrize("kind", ["Screen", "Movie", "Sound", "RichMedia", "3D", "FileAttachment"])
def test_media_and_attachments_on_a_page(tmp_path: Path, kind: str) -> None:
    annotation = Dictionary(Type=Name.Annot, Subtype=Name(f"/{kind}"), Rect=[10, 20, 30, 40])
    (found,) = _document(tmp_path, Sheet().page().page(Annots=Array([annotation]))).active
    assert (found.what, found.pages) == (kind, (2,))
    assert found.places[0].box == (10, 20, 30, 40)


def test_what_acts_in_the_file_as_a_whole(tmp_path: Path) -> None:
    """On closing, from a bookmark, in a form of another kind (XFA). An opening that goes to a page does not act."""
    sheet = Sheet().page()
    root = sheet.pdf.Root
    root.AA = Dictionary(WC=_script())
    root.OpenAction = _action("GoTo")
    root.AcroForm = Dictionary(Fields=Array([]), XFA=String("form"))
    second = sheet.pdf.make_indirect(Dictionary(Title=String("A shop"), A=_action("URI")))
    first = sheet.pdf.make_indirect(Dictionary(Title=String("One"), A=_action("GoTo"), Next=second))
    second.Next = first
    root.Outlines = sheet.pdf.make_indirect(Dictionary(First=first, Last=second))
    assert _kinds(_document(tmp_path, sheet)) == {"JavaScript": (), "URI": (), "XFA": ()}


# Files of other makers.
REAL = {
    "resources/SF424_page2.pdf": {"JavaScript": (1,), "Launch": (1,)},
    "resources/attachment.pdf": {"FileAttachment": (1,)},
    "resources/pdflatex-forms.pdf": {"SubmitForm": (1,)},
    "resources/pdflatex-outline.pdf": {},
}


@pytest.mark.parametrize(("name", "kinds"), REAL.items())
def test_what_acts_in_real_files(name: str, kinds: dict[str, tuple[int, ...]]) -> None:
    assert _kinds(measure(source_pdf("pypdf", name)).document) == kinds


LEFT_OVER = {"resources/SF424_page2.pdf": {"Named", "ResetForm"}}
"""Of form fields that stand on no page: the file is one page of several."""


@needs_qpdf
@pytest.mark.parametrize("name", REAL)
def test_qpdf_sees_the_same_kinds_of_actions(name: str) -> None:
    """The action dictionaries of the whole file."""
    path = source_pdf("pypdf", name)
    said = subprocess.run(
        ["qpdf", "--json=2", "--json-key=qpdf", path], capture_output=True, text=True, check=False
    ).stdout
    kinds = set(re.findall(r'"/S": "/(JavaScript|Launch|SubmitForm|ResetForm|ImportData|Named|Rendition)"', said))
    ours = set(_kinds(measure(path).document)) - {"FileAttachment"}
    assert kinds - LEFT_OVER.get(name, set()) == ours


def test_embedded_files_and_form_fields(tmp_path: Path) -> None:
    sheet = Sheet().page()
    sheet.pdf.attachments["notes.txt"] = b"Bring planks."
    sheet.pdf.attachments["more.txt"] = b"Bring buckets."
    field = sheet.pdf.make_indirect(Dictionary(FT=Name.Tx, T=String("name")))
    sheet.pdf.Root.AcroForm = Dictionary(Fields=Array([field]))
    document = _document(tmp_path, sheet)
    assert (document.embedded_files, document.form_fields) == (2, 1)


def test_an_owner_password_alone(tmp_path: Path) -> None:
    """It opens for everybody, is measured, and is encrypted all the same."""
    path = tmp_path / "sheet.pdf"
    Sheet().page(b"9 9 9 9 re f").pdf.save(path, encryption=pikepdf.Encryption(owner="lamp", user=""))
    measurements = measure(path)
    assert measurements.document.encrypted
    assert measurements.document.unreadable is None
    assert not measurements.pages[0].blank


def test_a_user_password(tmp_path: Path) -> None:
    path = tmp_path / "sheet.pdf"
    Sheet().page().pdf.save(path, encryption=pikepdf.Encryption(owner="lamp", user="wick"))
    document = measure(path).document
    assert document.encrypted
    assert document.unreadable is not None
    assert document.unreadable.reason == "password"


ENCRYPTED = ["r2-user-password", "r3-user-password", "r4-user-password", "r4-aes-user-password", "r6-both-passwords"]


@pytest.mark.parametrize("name", ENCRYPTED)
def test_real_encrypted_files(name: str) -> None:
    """Made by qpdf with 40-bit RC4 to 256-bit AES; their user password is not ours."""
    document = measure(source_pdf("pypdf", f"resources/encryption/{name}.pdf")).document
    assert document.encrypted
    assert document.unreadable is not None
    assert document.unreadable.reason == "password"


@pytest.mark.parametrize("name", ["r2-owner-password", "r4-owner-password", "r6-owner-password"])
def test_real_files_with_an_owner_password(name: str) -> None:
    document = measure(source_pdf("pypdf", f"resources/encryption/{name}.pdf")).document
    assert document.encrypted
    assert document.unreadable is None
    assert document.pages > 0


@MEMOIR.missing
def test_a_real_manual() -> None:
    """Figures of ``pdfinfo``."""
    document = facts_of(MEMOIR.path).document
    assert document.pages == 615
    assert document.pdf_version == "1.5"
    assert document.producer == "pdfTeX-1.40.24"
    assert not document.encrypted


def test_progress_is_told(tmp_path: Path) -> None:
    path = Sheet().page().page().page().save(tmp_path / "sheet.pdf")
    told: list[tuple[int, int]] = []
    measure(path, progress=lambda done, total: told.append((done, total)))
    assert told
    assert told[-1] == (3, 3)
    assert told == sorted(told)


@pytest.mark.parametrize("how", LOST_PAGES)
@pytest.mark.parametrize("at", [0, 1, 3])
def test_a_lost_page_keeps_its_number(tmp_path: Path, how: str, at: int) -> None:
    """The pages after it stay on their sides, and it is no page of another size."""
    measurements = measure(lost_page(tmp_path / "sheet.pdf", how, at=at))
    assert measurements.document.pages == len(measurements.pages) == 4
    assert [page.page for page in measurements.pages if page.unread] == [at + 1]
    assert [page.side for page in measurements.pages] == ["recto", "verso"] * 2
    assert {size(page.trim) for page in measurements.pages} == {(432, 648)}
    assert not any(page.blank for page in measurements.pages)
    assert measurements.document.repaired
    assert f"page {at + 1} is named in the page tree and is not there" in measurements.document.repairs


def _pages_by_pdfinfo(path: Path) -> int:
    said = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    return int(re.findall(r"^Pages:\s+(\d+)", said, re.MULTILINE)[0])


def _pages_by_qpdf(path: Path) -> int:
    """Its exit status is 3 where it warns."""
    return int(subprocess.run(["qpdf", "--show-npages", path], capture_output=True, text=True, check=False).stdout)


@needs_poppler
@needs_qpdf
@pytest.mark.parametrize("how", LOST_PAGES)
def test_a_lost_page_is_counted_by_other_readers(tmp_path: Path, how: str) -> None:
    path = lost_page(tmp_path / "sheet.pdf", how)
    assert measure(path).document.pages == _pages_by_pdfinfo(path) == _pages_by_qpdf(path) == 4


@needs_poppler
@needs_qpdf
def test_the_count_in_the_tree_is_not_believed(tmp_path: Path) -> None:
    """The others say what the tree's root says of itself; here the pages themselves are counted."""
    path = lost_page(tmp_path / "sheet.pdf", "missing", count=7)
    assert _pages_by_pdfinfo(path) == _pages_by_qpdf(path) == 7
    assert measure(path).document.pages == 4
