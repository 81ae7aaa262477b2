"""PDFs whose bytes are all ours: nothing checks or mends them on the way."""

from __future__ import annotations

import io
import zlib
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


def deflated(part: bytes, times: int, *, before: bytes = b"", after: bytes = b"") -> bytes:
    """The zlib stream (RFC 1950) of ``before``, ``times`` times ``part``, and ``after``.

    A full flush ends a block that knows nothing of what came before (RFC 1951 3.2.3), so one stands for all the like.
    """
    squeeze = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    first, repeated = (squeeze.compress(each) + squeeze.flush(zlib.Z_FULL_FLUSH) for each in (before, part))
    last = squeeze.compress(after) + squeeze.flush()
    checksum = zlib.adler32(before)
    for _ in range(times):
        checksum = zlib.adler32(part, checksum)
    return b"\x78\xda" + first + repeated * times + last + zlib.adler32(after, checksum).to_bytes(4, "big")


CATALOGUE = b"<< /Type /Catalog /Pages 2 0 R >>"
PAGES = b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>"
FONTS = b"/Font << /H << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >>"
PAGE = b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 432 648] /Resources << %s >> /Contents 4 0 R >>" % FONTS


def one_page(path: Path, content_object: bytes, *more: bytes, page: bytes = PAGE) -> Path:
    return raw(path, [CATALOGUE, PAGES, page, content_object, *more])
