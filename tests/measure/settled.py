"""Where PDFium's drawing is no truth, poppler's at 600 dpi: the same ink and the same text, drawn by ``pdftoppm``."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import pikepdf
import pypdfium2
from PIL import Image, ImageChops

from tests.measure.oracle import DPI, Box, Drawn, from_trim

_PAPER = 254
_CHANGED = 2


def drawn_by_poppler(path: Path, number: int) -> Drawn:
    """Page ``number`` as poppler draws it. Pictures count by their dark pixels, and text by what changes without it."""
    with tempfile.TemporaryDirectory() as name, pypdfium2.PdfDocument(path) as document:
        folder, page = Path(name), document[number - 1]
        whole, without_text = folder / "whole.pdf", folder / "without-text.pdf"
        _write_page(path, number, whole, text=True)
        _write_page(path, number, without_text, text=False)
        drawn, bare = _draw(whole), _draw(without_text)
        ink = drawn.point(lambda grey: 255 if grey < _PAPER else 0)
        text = ImageChops.difference(drawn, bare).point(lambda grey: 255 if grey >= _CHANGED else 0)
        return Drawn(number, from_trim(_box(ink), page), from_trim(_box(text), page))


def _draw(path: Path) -> Image.Image:
    Image.MAX_IMAGE_PIXELS = None
    command = ["pdftoppm", "-r", str(DPI), "-gray", "-cropbox", "-singlefile", path, path.with_suffix("")]
    subprocess.run([str(part) for part in command], check=True, capture_output=True, timeout=120)
    with Image.open(path.with_suffix(".pgm")) as image:
        image.load()
        return image


def _box(mask: Image.Image) -> Box | None:
    found = mask.getbbox()
    if found is None:
        return None
    left, top, right, foot = (pixels * 72 / DPI for pixels in found)
    height = mask.height * 72 / DPI
    return left, height - foot, right, height - top


def _write_page(path: Path, number: int, to: Path, *, text: bool) -> None:
    """One page alone, its text shown invisibly (rendering mode 3, or 7 where it clips) unless ``text`` is asked for."""
    with pikepdf.open(path) as pdf, pikepdf.new() as alone:
        alone.pages.append(pdf.pages[number - 1])
        if not text:
            page = alone.pages[0]
            page.Contents = alone.make_stream(_hidden(page.obj))
            _hide_in_forms(page.obj.get("/Resources"), set())
        alone.save(to)


def _hidden(content: pikepdf.Object, start: bytes = b"3 Tr ") -> bytes:
    instructions = pikepdf.parse_content_stream(content)
    for instruction in instructions:
        if str(instruction.operator) == "Tr" and isinstance(instruction, pikepdf.ContentStreamInstruction):
            instruction.operands[0] = 7 if int(instruction.operands[0]) >= 4 else 3
    return start + pikepdf.unparse_content_stream(instructions)


def _hide_in_forms(resources: pikepdf.Object | None, seen: set[tuple[int, int]]) -> None:
    forms = resources.get("/XObject") if resources is not None else None
    for form in dict(forms or {}).values():
        if form.get("/Subtype") == "/Form" and form.objgen not in seen:
            seen.add(form.objgen)
            form.write(_hidden(form, b""))
            _hide_in_forms(form.get("/Resources"), seen)
