"""The kinds of value that a profile holds. Lengths are points that remember how they were written."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import (
    BeforeValidator,
    Field,
    PlainSerializer,
    PlainValidator,
    StrictInt,
    StringConstraints,
    WithJsonSchema,
)

from worker.profiles.nearest import one_of
from worker.rules import RULES
from worker.units import Length, parse_size, show_size

LONGEST_LIST = 200
HIGHEST_COUNT = 1_000_000

PDF_VERSIONS = ("1.0", "1.1", "1.2", "1.3", "1.4", "1.5", "1.6", "1.7", "2.0")
# GTS_PDFXVersion and GTS_PDFXConformance of ISO 15930-1, -3, -4, -6, -7, -8 and -9.
PDFX_LEVELS = (
    *("PDF/X-1:2001", "PDF/X-1a:2001", "PDF/X-1a:2003", "PDF/X-3:2002", "PDF/X-3:2003"),
    *("PDF/X-4", "PDF/X-4p", "PDF/X-5g", "PDF/X-5pg", "PDF/X-5n", "PDF/X-6", "PDF/X-6p", "PDF/X-6n"),
)


def _length(value: Any) -> Length:
    if isinstance(value, Length):
        return value
    if not isinstance(value, str):
        raise ValueError('must be a length in quotes with its unit, as in "0.5 in"')
    return Length.parse(value)


def _positive_length(value: Any) -> Length:
    length = _length(value)
    if length <= 0:
        raise ValueError("must be longer than nothing")
    return length


def _length_or_nought(value: Any) -> Length:
    length = _length(value)
    if length < 0:
        raise ValueError("must not be negative")
    return length


def _size(value: Any) -> int:
    if not isinstance(value, str):
        raise ValueError('must be a file size in quotes with its unit, as in "400 MB"')
    return parse_size(value)


def _exact_size(count: int) -> str:
    shown = show_size(count)
    return shown if parse_size(shown) == count else f"{count} B"


def _printable(value: Any) -> Any:
    if isinstance(value, str) and not value.replace("\n", "").isprintable():
        raise ValueError("must not hold control characters")
    return value


def at_most(count: int) -> BeforeValidator:
    """A pydantic check of a list or table before its entries are looked at: the word meant by each wrong one is sought
    in all that is known, which takes its time."""

    def check(value: Any) -> Any:
        if isinstance(value, dict | list | tuple) and len(value) > count:
            raise ValueError(f"must hold no more than {count} entries; it holds {len(value)}")
        return value

    return BeforeValidator(check)


_AS_WRITTEN = PlainSerializer(lambda length: length.text, return_type=str)
_LENGTH_SCHEMA = WithJsonSchema(
    {"type": "string", "pattern": r"^[+-]?(\d+\.?\d*|\.\d+) ?(in|mm|pt)$", "examples": ["0.5 in", "12.7 mm"]}
)

Distance = Annotated[Length, PlainValidator(_length_or_nought), _AS_WRITTEN, _LENGTH_SCHEMA]
"""A length of nothing or more, written with its unit."""
Side = Annotated[Length, PlainValidator(_positive_length), _AS_WRITTEN, _LENGTH_SCHEMA]
"""A length of more than nothing, written with its unit."""
FileSize = Annotated[
    int,
    PlainValidator(_size),
    PlainSerializer(_exact_size, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^\d+(\.\d*)? ?([kMG]?B|[KMG]iB)$", "examples": ["400 MB"]}),
]
Count = Annotated[StrictInt, Field(ge=0, le=HIGHEST_COUNT)]
AtLeastOne = Annotated[StrictInt, Field(ge=1, le=HIGHEST_COUNT)]
Amount = Annotated[float, Field(strict=True, gt=0, le=100_000, allow_inf_nan=False)]
Percent = Annotated[float, Field(strict=True, ge=0, le=1_000, allow_inf_nan=False)]
Text = Annotated[
    str,
    BeforeValidator(_printable),
    StringConstraints(strict=True, strip_whitespace=True, min_length=1, max_length=200),
]
Note = Annotated[
    str, BeforeValidator(_printable), StringConstraints(strict=True, strip_whitespace=True, max_length=2_000)
]
Id = Annotated[str, StringConstraints(strict=True, pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=64)]
PdfVersion = Annotated[str, StringConstraints(strict=True), one_of(PDF_VERSIONS)]
PdfxLevel = Annotated[str, StringConstraints(strict=True), one_of(PDFX_LEVELS)]
RuleId = Annotated[str, StringConstraints(strict=True), one_of(RULES, what="rule")]

Revision = Annotated[
    str, BeforeValidator(_printable), StringConstraints(strict=True, strip_whitespace=True, min_length=1, max_length=40)
]

BindingEdge = Literal["left", "right"]
WeightOrOff = Literal["refusal", "spoilage", "polish", "off"]
