"""Ids of what the service keeps, inspections apart: no other text is asked of the database.

PostgreSQL takes no zero in a text; asked for an id with one, it would seem to be away.
"""

from __future__ import annotations

import re
from typing import Literal

__all__ = ["is_id"]

_REST = re.compile(r"[a-z2-7]{26}", re.ASCII)


def is_id(kind: Literal["tit", "lnk", "del", "arr", "shr", "mem"], text: str) -> bool:
    """Whether a thing of that kind could have this id."""
    prefix, _, rest = text.partition("_")
    return prefix == kind and _REST.fullmatch(rest) is not None
