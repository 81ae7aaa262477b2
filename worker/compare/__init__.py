"""Two files of the same book: what is mended, what is new, what stays. Reports in, data out; no file is opened here.

::

    earlier = earlier_report(data)           # raises NoReport, whose message is for people
    report = compared(report, earlier)       # the same report, with its comparison
"""

from __future__ import annotations

from worker.compare.comparison import compared
from worker.compare.earlier import LARGEST, Earlier, NoReport, earlier_report

__all__ = ["LARGEST", "Earlier", "NoReport", "compared", "earlier_report"]
