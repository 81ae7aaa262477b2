"""How large encoded data become, held against qpdf, which decodes them, and against what was encoded.

LZW and run lengths are encoded by Pillow's TIFF writer (libtiff), deflate by zlib.
"""

from __future__ import annotations

import base64
import random
import zlib
from collections.abc import Callable

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.hostile.bombs import lzw, run_lengths
from worker.measure.expansion import Stage, decoded_size, most_it_may_be
from worker.measure.limits import LimitReached
from worker.measure.pdfobjects import stream_bytes

Encoder = Callable[[bytes], bytes]
ENCODERS: dict[str, Encoder] = {"FlateDecode": zlib.compress, "LZWDecode": lzw, "RunLengthDecode": run_lengths}

runs = st.lists(st.tuples(st.binary(min_size=1, max_size=40), st.integers(1, 400)), min_size=1, max_size=12)


@pytest.mark.parametrize("filter_", ENCODERS)
@settings(max_examples=60, deadline=None)
@given(runs=runs)
def test_the_size_is_that_of_what_was_encoded(filter_: str, runs: list[tuple[bytes, int]]) -> None:
    data = b"".join(piece * times for piece, times in runs)
    encoded = ENCODERS[filter_](data)
    assert decoded_size(encoded, Stage(filter_), len(data)) == len(data)
    assert most_it_may_be(len(encoded), [Stage(filter_)]) >= len(data)
    assert decoded_size(encoded, Stage(filter_), len(data) - 1) > len(data) - 1


@pytest.mark.parametrize("filter_", ["LZWDecode", "RunLengthDecode"])
def test_what_is_unsound_is_never_larger_than_said(filter_: str) -> None:
    """Bytes changed at random: qpdf gives up, or decodes no more than was said."""
    draw = random.Random(filter_)
    sound = ENCODERS[filter_](bytes(draw.choices(b"ab ", k=5_000)))
    pdf = pikepdf.new()
    for _ in range(200):
        data = bytearray(sound)
        for _ in range(4):
            data[draw.randrange(len(data))] = draw.randrange(256)
        stream = pikepdf.Stream(pdf, bytes(data), Filter=pikepdf.Name(f"/{filter_}"))
        try:
            decoded = stream_bytes(stream)
        except pikepdf.PdfError:
            continue
        assert len(decoded) <= decoded_size(bytes(data), Stage(filter_), 1 << 30)


def test_what_may_pass_the_limit_and_does_not_is_decoded() -> None:
    """Three filters and a predictor on the way; each may pass 1000 bytes, none does."""
    text = b"The island has two harbours. " * 30
    rows = b"".join(b"\0" + text[at : at + 29] for at in range(0, len(text), 29))
    encoded = base64.a85encode(lzw(zlib.compress(rows))) + b"~>"
    pdf = pikepdf.new()
    stream = pikepdf.Stream(pdf, encoded)
    stream.Filter = pikepdf.Array([pikepdf.Name.ASCII85Decode, pikepdf.Name.LZWDecode, pikepdf.Name.FlateDecode])
    stream.DecodeParms = pikepdf.Array([None, None, pikepdf.Dictionary(Predictor=15, Columns=29)])
    assert stream_bytes(stream, 1000) == text
    with pytest.raises(LimitReached):
        stream_bytes(stream, 800)


def test_parts_are_bounded_together() -> None:
    pdf = pikepdf.new()
    part = pdf.make_indirect(pikepdf.Stream(pdf, zlib.compress(bytes(400)), Filter=pikepdf.Name.FlateDecode))
    assert len(stream_bytes(pikepdf.Array([part, part]), 1000)) == 801
    with pytest.raises(LimitReached):
        stream_bytes(pikepdf.Array([part, part, part]), 1000)
