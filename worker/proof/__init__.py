"""The marked proof: the author's own pages, and over them, on a layer of its own, what an inspection has found.

:func:`order_of` says what a proof shows, as plain data. The file itself is hostile: it is opened by the child alone
(``python -m worker.proof FILE OUT --request REQUEST.json``, see :func:`worker.fence.proof_fenced`).
"""

from __future__ import annotations

from worker.proof.order import Order, order_of

__all__ = ["Order", "order_of"]
