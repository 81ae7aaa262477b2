"""A layer of the proof's own (optional content, ISO 32000-1 8.11), beside those that the file has already."""

from __future__ import annotations

import copy
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, String

from worker.measure.pdfobjects import get

NAME = "Pressworthy proof"


def add_layer(pdf: pikepdf.Pdf) -> pikepdf.Object:
    """Add the layer to the catalogue, switched on; returns its group (8.11.2.1)."""
    group = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(NAME)))
    properties = _own_copy(get(pdf.Root, "/OCProperties"))
    default = _own_copy(get(properties, "/D"))
    properties.OCGs = _with(get(properties, "/OCGs"), group)
    default.Order = _with(get(default, "/Order"), group)
    if get(default, "/BaseState") == Name.OFF:
        default.ON = _with(get(default, "/ON"), group)
    properties.D = default
    pdf.Root.OCProperties = properties
    return group


def _own_copy(value: Any) -> pikepdf.Dictionary:
    return copy.copy(value) if isinstance(value, Dictionary) else Dictionary()


def _with(value: Any, member: pikepdf.Object) -> pikepdf.Array:
    return Array([*(value if isinstance(value, Array) else ()), member])
