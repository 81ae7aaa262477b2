"""Draws a page without a canvas: follows its operators (ISO 32000-1 annex A) and notes every mark that would print."""

from __future__ import annotations

from worker.measure.operators.colour import ColourOperators
from worker.measure.operators.content_marks import MarkedContentOperators
from worker.measure.operators.general import GeneralOperators
from worker.measure.operators.objects import ObjectOperators
from worker.measure.operators.paths import PathOperators
from worker.measure.operators.text import TextOperators


class Interpreter(
    GeneralOperators, ColourOperators, PathOperators, TextOperators, ObjectOperators, MarkedContentOperators
):
    """All operators that decide what prints and where."""
