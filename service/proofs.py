"""The proof of an inspection, as its owner asks for it: kept, or made by a worker now and waited for a while."""

from __future__ import annotations

import time
from typing import BinaryIO

from flask import Response

from service.days import need_file, need_pictures
from service.house import store
from service.kept_files import file_sent
from service.names import name_to_keep
from service.waiters import may_wait
from worker.picturing import Undrawn
from worker.proving import why_unproved
from worker.queue import ring_proof
from worker.store import Inspection, Missing, proof_key

__all__ = ["PDF", "NoProof", "proof_sent"]

PDF = "application/pdf"
PATIENCE = 8.0
"""Seconds that a caller is kept waiting: most proofs are made within two."""
GLANCE_SECONDS = 0.1


class NoProof(Exception):
    """The proof is not there. ``cannot`` says why it never will be, where that is known; ``queue_answers`` whether a
    worker was asked."""

    def __init__(self, *, cannot: str | None = None, queue_answers: bool = True) -> None:
        super().__init__(cannot or "not made yet")
        self.cannot = cannot
        self.queue_answers = queue_answers


def proof_sent(row: Inspection) -> Response:
    """The proof of a finished inspection, as a file to keep. Raises :class:`NoProof`, and :class:`Problem` where it is
    no longer kept."""
    need_pictures(row)
    name = name_to_keep(row.file_name, "proof.pdf")
    return file_sent(_proof_of(row), PDF, tag=f"proof-{row.id}", name=name, in_parts=True)


def _proof_of(row: Inspection) -> BinaryIO:
    if not row.progress_total:
        raise NoProof(cannot="the file has no pages that could be read")
    proof = _found(row)
    if proof is None:
        need_file(row)
    if proof is None and not ring_proof(row.id):
        raise NoProof(queue_answers=False)
    until = time.monotonic() + PATIENCE
    with may_wait() as granted:
        while proof is None and granted and time.monotonic() < until:
            time.sleep(GLANCE_SECONDS)
            proof = _found(row)
    if proof is None:
        raise NoProof
    return proof


def _found(row: Inspection) -> BinaryIO | None:
    """The proof if it is there. Raises :class:`NoProof` where it never will be."""
    try:
        return store().bytes.open(proof_key(row.id))
    except Missing:
        unproved: Undrawn | None = why_unproved(store(), row.id)
    if unproved is not None:
        raise NoProof(cannot=unproved.message)
    return None
