"""PDFs whose bytes are all ours: nothing checks or mends them on the way."""

from __future__ import annotations

import io
from collections.abc import Iterable
from pathlib import Path

LINE = b"BT /H 12 Tf 72 300 Td (The island has two harbours) Tj ET "


def raw(path: Path, objects: Iterable[bytes], *, root: int = 1, trailer: bytes = b"") -> Path:
    """A PDF whose bytes are all ours: ``objects`` are numbered from 1; nothing is checked or mended."""
    out = io.BytesIO()
    out.write(b"%PDF-1.7\n")
    offsets = []
    for number, body in enumerate(objects, start=1):
        offsets.append(out.tell())
        out.write(b"%d 0 obj\n%s\nendobj\n" % (number, body))
    start = out.tell()
    out.write(b"xref\n0 %d\n0000000000 65535 f \n" % (len(offsets) + 1))
    out.writelines(b"%010d 00000 n \n" % offset for offset in offsets)
    out.write(b"trailer\n<< /Size %d /Root %d 0 R %s >>\n" % (len(offsets) + 1, root, trailer))
    out.write(b"startxref\n%d\n%%%%EOF\n" % start)
    path.write_bytes(out.getvalue())
    return path


def stream(data: bytes, keys: bytes = b"") -> bytes:
    return b"<< /Length %d %s >>\nstream\n%s\nendstream" % (len(data), keys, data)


CATALOGUE = b"<< /Type /Catalog /Pages 2 0 R >>"
PAGES = b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>"
FONTS = b"/Font << /H << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >>"
PAGE = b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 432 648] /Resources << %s >> /Contents 4 0 R >>" % FONTS


def one_page(path: Path, content_object: bytes, *more: bytes, page: bytes = PAGE) -> Path:
    return raw(path, [CATALOGUE, PAGES, page, content_object, *more])
