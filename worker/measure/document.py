"""Facts of the whole file: version, metadata, PDF/X, output intents, layers, what acts by itself."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

import pikepdf

from worker.measure.models import Document, OutputIntent
from worker.measure.pdfobjects import array, dictionary, get, identity, integer, name, stream_bytes, text, tree_leaves

_XMP_PDFX = re.compile(r"pdfxid:GTS_PDFXVersion\s*(?:=\s*[\"']([^\"']+)[\"']|>([^<]+)<)")
_XMP_TITLE = re.compile(r"<dc:title>\s*<rdf:Alt>\s*<rdf:li[^>]*>([^<]*)</rdf:li>")
_DEPTH = 64


def document_facts(
    pdf: pikepdf.Pdf, pages: int, layers: tuple[str, ...], *, scripted_page: bool, repairs: Iterable[str] = ()
) -> Document:
    """Everything in the contract's ``document`` part, from the catalogue, the Info dictionary and the XMP.

    ``scripted_page`` says whether any page has JavaScript (``page_has_javascript``); ``repairs`` are warnings that
    another reader of the same file was given.
    """
    catalogue = pdf.Root
    information = pdf.trailer.get("/Info")
    xmp = _xmp(catalogue)
    repaired = _in_short([*map(str, pdf.get_warnings()), *repairs])
    return Document(
        pages=pages,
        pdf_version=str(pdf.pdf_version),
        encrypted=pdf.is_encrypted,
        repaired=bool(repaired),
        repairs=repaired,
        producer=text(get(information, "/Producer")),
        creator=text(get(information, "/Creator")),
        title=text(get(information, "/Title")) or _xmp_title(xmp),
        author=text(get(information, "/Author")),
        pdfx=_pdfx(information, xmp),
        output_intents=tuple(_output_intent(intent) for intent in array(get(catalogue, "/OutputIntents"))),
        layers=layers,
        javascript=scripted_page or _has_javascript(catalogue),
        embedded_files=sum(1 for _ in tree_leaves(get(get(catalogue, "/Names"), "/EmbeddedFiles"), "/Names")) // 2,
        form_fields=sum(1 for _ in _form_fields(get(catalogue, "/AcroForm"))),
        binding_edge="right" if name(get(get(catalogue, "/ViewerPreferences"), "/Direction")) == "R2L" else "left",
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
    return (found[1].strip() or None) if found else None


def _pdfx(information: Any, xmp: str) -> str | None:
    """The standard's own value. PDF/X-1 and -3 stand in Info; PDF/X-4 and later in XMP (ISO 15930-7).

    PDF/X-1a:2001 is told by GTS_PDFXConformance beside the version key (ISO 15930-1).
    """
    conformance = text(get(information, "/GTS_PDFXConformance"))
    version = text(get(information, "/GTS_PDFXVersion"))
    if conformance and version and version.startswith("PDF/X-1:"):
        return conformance
    if version:
        return version
    found = _XMP_PDFX.search(xmp)
    return (found[1] or found[2]).strip() if found else None


def _output_intent(intent: Any) -> OutputIntent:
    profile = get(intent, "/DestOutputProfile")
    return OutputIntent(
        subtype=name(get(intent, "/S")) or "",
        condition=text(get(intent, "/OutputConditionIdentifier")),
        registry=text(get(intent, "/RegistryName")),
        profile_embedded=isinstance(profile, pikepdf.Stream),
        profile_components=integer(get(profile, "/N")) or None if profile is not None else None,
    )


def _has_javascript(catalogue: Any) -> bool:
    if get(get(catalogue, "/Names"), "/JavaScript") is not None:
        return True
    return _is_script(get(catalogue, "/OpenAction")) or _starts_script(catalogue)


def page_has_javascript(page: Any) -> bool:
    """Whether a page or one of its annotations starts JavaScript (ISO 32000-1 12.6.3)."""
    holders = array(get(page, "/Annots"))
    return _starts_script(page) or any(_starts_script(item) or _is_script(get(item, "/A")) for item in holders)


def _starts_script(holder: Any) -> bool:
    return any(_is_script(action) for _, action in _members(get(holder, "/AA")))


def _is_script(action: Any) -> bool:
    return name(get(action, "/S")) == "JavaScript"


def _members(holder: Any) -> list[tuple[str, Any]]:
    found = dictionary(holder)
    return [(str(key), found[key]) for key in found.keys()] if found is not None else []  # noqa: SIM118


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
