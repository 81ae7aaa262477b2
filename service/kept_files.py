"""What is kept, sent as a file: with its length, piece by piece, or the part of it that is asked for."""

from __future__ import annotations

import os
from typing import BinaryIO

from flask import Response, request, send_file

__all__ = ["file_sent"]


def file_sent(
    stream: BinaryIO, mimetype: str, *, tag: str, name: str | None = None, in_parts: bool = False
) -> Response:
    """``stream`` under the validator ``tag``; to be kept as ``name`` if one is given.

    ``in_parts``: a download that broke off may go on where it did (RFC 9110, section 14).
    """
    size = stream.seek(0, os.SEEK_END)
    stream.seek(0)
    kept = send_file(
        stream, mimetype=mimetype, as_attachment=name is not None, download_name=name, etag=tag, conditional=False
    )
    kept.content_length = size
    understood = request.range is not None and request.range.units == "bytes"  # others are passed over: section 14.2
    kept.make_conditional(request, accept_ranges=in_parts, complete_length=size if understood else None)
    return kept
