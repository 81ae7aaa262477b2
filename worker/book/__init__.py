"""Measurements → how the book is built, read from where its lines stand. Knows no printer profile."""

from __future__ import annotations

from worker.book.block import text_block
from worker.book.models import Book
from worker.measure.models import Measurements

__all__ = ["Book", "read_book"]


def read_book(measurements: Measurements) -> Book:
    """Read the book from its measurements, which must have the pages' lines. Pure."""
    return Book(block=text_block(measurements))
