"""Objects that are packed into streams (ISO 32000-1 7.5.7): why a file whose objects cannot be had may not be damaged.

qpdf inflates such a stream while it opens the file. Where there is no room for what one becomes, it goes on as if the
objects were not there, and says that the file has none.
"""

from __future__ import annotations

import re
from pathlib import Path

from worker.measure.expansion import Stage, decoded_size
from worker.measure.limits import MOST_INFLATED, LimitReached

_PACKED = re.compile(rb"(?s)/Type\s*/(?:ObjStm|XRef)\b.{0,2000}?>>\s*stream\r?\n")


def refuse_bombs(path: Path) -> None:
    """Raise ``LimitReached`` where a stream of objects, or of the cross-reference, inflates past the limit."""
    data = path.read_bytes()
    for found in _PACKED.finditer(data):
        end = data.find(b"endstream", found.end())
        packed = data[found.end() : end if end >= 0 else len(data)]
        if decoded_size(packed, Stage("FlateDecode"), MOST_INFLATED) > MOST_INFLATED:
            raise LimitReached("inflated", f"a stream of objects inflates past {MOST_INFLATED // 1_000_000} MB")
