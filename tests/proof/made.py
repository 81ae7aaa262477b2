"""Proofs of small files, and what PDFium sees of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2 as pdfium
from pikepdf import Array, Dictionary, Name
from PIL import Image

from tests.report.books import MEASURED_AT, finding
from worker.judge.models import Finding, Weight
from worker.measure.models import Box
from worker.proof.layer import NAME
from worker.proof.making import make_proof
from worker.proof.order import Order, PlacedMark

SCALE = 2.0
"""Pixels to a unit of the page."""
FINE = 12.0
"""The same where a thin line has to be wider than what is blurred of it."""


def order(*findings: Finding, pages: int = 1, marks: tuple[PlacedMark, ...] = (), **more: object) -> Order:
    """What a proof of so many pages shows, the live area being all of a page of 200 × 300 pt but 20 pt."""
    fields: dict[str, object] = {
        "name": "salt-road.pdf",
        "printer": "Ternhaven Digital (2026-11)",
        "summary": "This printer would turn the file away.",
        "judged_as_pages": pages,
        "made_at": MEASURED_AT,
        "findings": findings,
        "live_areas": ((20, 20, 180, 280),) * pages,
        "marks": marks,
    }
    return Order.model_validate(fields | more)


def coarse(*pages: int, **more: str) -> Finding:
    """A finding on those pages."""
    told = {"title": "A picture is too coarse", "detail": "It has 100 pixels an inch.", "remedy": "Scan it again."}
    return finding("image-resolution", Weight.REFUSAL, pages, marks=(), **(told | more))


def mark(box: Box, page: int = 1, text: str = "100 ppi", **more: Any) -> PlacedMark:
    return PlacedMark(finding=1, page=page, box=box, text=text, **more)


def proof_of(path: Path, wanted: Order) -> Path:
    """The proof, beside the file."""
    out = path.with_name(f"{path.stem} proof.pdf")
    make_proof(path, wanted, out)
    return out


def without_layer(proof: Path) -> Path:
    """A copy of the proof whose layer is off from the start (ISO 32000-1 8.11.4.3, ``OFF``)."""
    out = proof.with_name(f"{proof.stem} off.pdf")
    with pikepdf.open(proof) as pdf:
        properties = pdf.Root.OCProperties
        groups = [group for group in properties.OCGs if isinstance(group, Dictionary)]
        (ours,) = [group for group in groups if str(group.get("/Name")) == NAME]
        properties.D.OFF = Array([*properties.D.get("/OFF", Array()), ours])
        assert ours not in [*properties.D.get("/Locked", Array())]
        assert properties.D.get("/BaseState", Name.ON) == Name.ON or ours in [*properties.D.ON]
        if properties.D.get("/BaseState") == Name.OFF:
            properties.D.ON = Array([group for group in properties.D.ON if group != ours])
        pdf.save(out, fix_metadata_version=False)
    return out


def drawn(path: Path, page: int, *, notes: bool = True, scale: float = SCALE) -> Image.Image:
    """A page (from 1, from the end where negative) as PDFium draws it, with or without annotations."""
    with pdfium.PdfDocument(path) as document:
        sheet = document[page - 1 if page > 0 else len(document) + page]
        picture: Image.Image = sheet.render(scale=scale, draw_annots=notes, may_draw_forms=False).to_pil()
        return picture.convert("RGB")


def page_count(path: Path) -> int:
    """As PDFium counts."""
    with pdfium.PdfDocument(path) as document:
        return len(document)


def differing(original: Path, proof: Path) -> list[int]:
    """The pages (from 1) of the file that PDFium draws otherwise in its proof while the layer is off."""
    off, pages = without_layer(proof), page_count(original)
    opening = page_count(off) - pages
    assert opening > 0
    return [
        page
        for page in range(1, pages + 1)
        for notes in (False, True)
        if drawn(original, page, notes=notes).tobytes() != drawn(off, opening + page, notes=notes).tobytes()
    ]


def own_notes(page: pikepdf.Object) -> list[pikepdf.Object]:
    """The notes of a page that are on the proof's layer."""
    notes = [note for note in page.get("/Annots", Array()) if note.Subtype == Name.Text and "/OC" in note]
    return [note for note in notes if str(note.OC.Name) == NAME]
