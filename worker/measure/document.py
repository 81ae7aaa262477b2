"""Facts of the whole file: version, metadata, PDF/X, output intents, layers, what acts by itself."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from html import unescape
from typing import Any, Literal

import pikepdf

from worker.measure.active import Acting, active_facts, in_catalogue
from worker.measure.bookmarks import bookmarks
from worker.measure.models import Document, OutputIntent, PdfxFacts
from worker.measure.pagetree import PageNode
from worker.measure.pdfobjects import array, get, identity, integer, name, printable, stream_bytes, text, tree_leaves

_XMP_VALUE = r"(?:\s*=\s*[\"']([^\"']+)[\"']|(?:\s[^<>]*)?>([^<]+)<)"
"""What follows the name of a property that is written as an attribute or as an element (XMP, ISO 16684-1 7)."""
_XMP_PDFX = re.compile("pdfxid:GTS_PDFXVersion" + _XMP_VALUE)
_XMP_TRAPPED = re.compile("pdf:Trapped" + _XMP_VALUE)
_TRAPPED: dict[str, Literal["True", "False", "Unknown"]] = {"True": "True", "False": "False", "Unknown": "Unknown"}
_VERSION = re.compile(r"[12]\.\d")
_XMP_TITLE = re.compile(r"<dc:title>\s*<rdf:Alt>\s*<rdf:li[^>]*>([^<]*)</rdf:li>")
_DEPTH = 64


def document_facts(
    pdf: pikepdf.Pdf,
    tree: Sequence[PageNode],
    layers: tuple[str, ...],
    *,
    acting: Iterable[Acting] = (),
    repairs: Iterable[str] = (),
) -> Document:
    """Everything in the contract's ``document`` part, from the catalogue, the Info dictionary and the XMP.

    ``acting`` is what acts by itself on the pages; ``repairs`` are warnings that another reader of the same file was
    given.
    """
    catalogue = pdf.Root
    information = pdf.trailer.get("/Info")
    xmp = _xmp(catalogue)
    pdfx = _pdfx_facts(pdf.trailer, information, xmp)
    active = active_facts([*in_catalogue(catalogue), *acting])
    repaired = _in_short([*map(str, pdf.get_warnings()), *repairs])
    return Document(
        pages=len(tree),
        pdf_version=_version(pdf),
        encrypted=pdf.is_encrypted,
        repaired=bool(repaired),
        repairs=repaired,
        producer=text(get(information, "/Producer")),
        creator=text(get(information, "/Creator")),
        title=text(get(information, "/Title")) or _xmp_title(xmp),
        author=text(get(information, "/Author")),
        pdfx=_pdfx(pdfx),
        pdfx_facts=pdfx,
        output_intents=tuple(_output_intent(intent) for intent in array(get(catalogue, "/OutputIntents"))),
        layers=layers,
        javascript=any(each.what == "JavaScript" for each in active),
        active=active,
        embedded_files=_embedded_files(catalogue),
        form_fields=sum(1 for _ in _form_fields(get(catalogue, "/AcroForm"))),
        binding_edge="right" if name(get(get(catalogue, "/ViewerPreferences"), "/Direction")) == "R2L" else "left",
        outline=bookmarks(catalogue, {identity(node.page): number for number, node in enumerate(tree, 1)}),
    )


def _in_short(warnings: Iterable[str]) -> tuple[str, ...]:
    """What the reader had to mend, once each and short."""
    return tuple(dict.fromkeys(warning.rsplit(": ", 1)[-1][:200] for warning in warnings))[:8]


def _xmp(catalogue: Any) -> str:
    metadata = get(catalogue, "/Metadata")
    if not isinstance(metadata, pikepdf.Stream):
        return ""
    try:
        return stream_bytes(metadata).decode("utf-8", "replace")
    except pikepdf.PdfError:
        return ""


def _xmp_title(xmp: str) -> str | None:
    found = _XMP_TITLE.search(xmp)
    return printable(unescape(found[1])) if found else None


def _version(pdf: pikepdf.Pdf) -> str:
    """The header's version, or the catalogue's where that is later (ISO 32000-1 7.5.2)."""
    in_header, later = str(pdf.pdf_version), name(get(pdf.Root, "/Version"))
    return max(in_header, later) if later and _VERSION.fullmatch(later) else in_header


def _pdfx(facts: PdfxFacts) -> str | None:
    """The standard's own value. PDF/X-1 and -3 stand in Info; PDF/X-4 and later in XMP (ISO 15930-7).

    PDF/X-1a:2001 is told by GTS_PDFXConformance beside the version key (ISO 15930-1).
    """
    if facts.conformance and facts.in_info and facts.in_info.startswith("PDF/X-1:"):
        return facts.conformance
    return facts.in_info or facts.in_xmp


def _pdfx_facts(trailer: Any, information: Any, xmp: str) -> PdfxFacts:
    in_xmp = _XMP_PDFX.search(xmp)
    trapped = name(get(information, "/Trapped")) or _first_group(_XMP_TRAPPED.search(xmp))
    return PdfxFacts(
        in_info=text(get(information, "/GTS_PDFXVersion")),
        conformance=text(get(information, "/GTS_PDFXConformance")),
        in_xmp=_first_group(in_xmp),
        trapped=_TRAPPED.get(trapped or ""),
        created=text(get(information, "/CreationDate")) is not None or "xmp:CreateDate" in xmp,
        modified=text(get(information, "/ModDate")) is not None or "xmp:ModifyDate" in xmp,
        identifier=len(array(trailer.get("/ID"))) == 2,
        object_streams=name(trailer.get("/Type")) == "XRef",
    )


def _first_group(found: re.Match[str] | None) -> str | None:
    """Of a pattern for an attribute or an element: what either holds."""
    return (found[1] or found[2]).strip() or None if found else None


def _output_intent(intent: Any) -> OutputIntent:
    profile = get(intent, "/DestOutputProfile")
    return OutputIntent(
        subtype=name(get(intent, "/S")) or "",
        condition=text(get(intent, "/OutputConditionIdentifier")),
        registry=text(get(intent, "/RegistryName")),
        profile_embedded=isinstance(profile, pikepdf.Stream),
        profile_components=integer(get(profile, "/N")) or None if profile is not None else None,
        profile_class=_profile_class(profile),
    )


def _profile_class(profile: Any) -> str | None:
    """Bytes 12 to 15 of an ICC profile (ICC.1 7.2.5)."""
    if not isinstance(profile, pikepdf.Stream):
        return None
    try:
        head = stream_bytes(profile)[:128]
    except pikepdf.PdfError:
        return None
    return head[12:16].decode("latin-1") if head[36:40] == b"acsp" else None


def _embedded_files(catalogue: Any) -> int:
    """Those that the name tree lists (7.11.4), and those that the catalogue alone is associated with (ISO 32000-2)."""
    listed = list(tree_leaves(get(get(catalogue, "/Names"), "/EmbeddedFiles"), "/Names"))
    known = {identity(leaf) for leaf in listed[1::2]}
    return len(listed) // 2 + sum(identity(file) not in known for file in array(get(catalogue, "/AF")))


def _form_fields(form: Any) -> Iterator[Any]:
    """The terminal fields of a form (ISO 32000-1 12.7.3): those with no named fields beneath."""
    pending = [(field, 0) for field in array(get(form, "/Fields"))]
    seen: set[tuple[int, int]] = set()
    while pending:
        field, depth = pending.pop()
        if identity(field) in seen or depth > _DEPTH:
            continue
        seen.add(identity(field))
        below = [kid for kid in array(get(field, "/Kids")) if get(kid, "/T") is not None]
        pending.extend((kid, depth + 1) for kid in below)
        if not below:
            yield field
