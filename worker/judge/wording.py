"""What a finding says to a person."""

from __future__ import annotations

from typing import NamedTuple


class Words(NamedTuple):
    """In this order: what is wrong, where and by how much, what it does to the printed book, what to set."""

    title: str
    detail: str
    effect: str
    remedy: str
