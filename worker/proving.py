"""The proof of a finished inspection: made when somebody asks for it, and kept with what else belongs to it.

As with a page's picture, a proof that cannot be made is remembered as such; what may go better next time is not.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from worker.attempt import Bench
from worker.fence import FenceError, proof_fenced
from worker.in_hand import InHand
from worker.keeping import kept_facts
from worker.picturing import Undrawn, delete_if_gone, keep, remembered
from worker.profiles import Profile
from worker.proof import Order, order_of
from worker.report.models import Report
from worker.store import Inspection, Missing, Store, file_key, proof_key, report_key, unproved_key

_in_hand = InHand()


def prove_once(bench: Bench, inspection_id: str) -> bool:
    """Make the proof of a finished inspection, unless it is made or in hand; whether it is there now.

    Raises :class:`FenceError` where it cannot be made this time, and :class:`Missing` where the inspection is going
    away.
    """
    store, row = bench.store, bench.store.rows.get(inspection_id)
    if row is None or row.state != "done" or not row.progress_total:
        return False
    with _in_hand.hold(row.id) as held:
        if not held:
            return False
        if store.bytes.size(proof_key(row.id)) is not None:
            return True
        if not (row.has_file and row.has_pictures) or why_unproved(store, row.id) is not None:
            return False
        try:
            _prove(bench, row)
        except FenceError as error:
            if not error.passes:
                keep(store, row, unproved_key(row.id), remembered(error))
            raise
    return store.rows.get(row.id) is not None


def why_unproved(store: Store, inspection_id: str) -> Undrawn | None:
    """Why there can be no proof; None where nobody has found that there cannot."""
    try:
        return Undrawn.model_validate_json(store.bytes.read(unproved_key(inspection_id)))
    except Missing:
        return None


def _prove(bench: Bench, row: Inspection) -> None:
    store, order = bench.store, _order(bench.store, row)
    with tempfile.TemporaryDirectory(prefix="pressworthy-") as folder, store.bytes.local(file_key(row.id)) as path:
        out = Path(folder) / "proof.pdf"
        proof_fenced(path, order, out=out, limits=bench.limits, cancelled=bench.stopping.is_set)
        with out.open("rb") as made, store.bytes.incoming() as whole:
            shutil.copyfileobj(made, whole)
            whole.keep(proof_key(row.id))
    delete_if_gone(store, row)


def _order(store: Store, row: Inspection) -> Order:
    report = Report.model_validate_json(store.bytes.read(report_key(row.id)))
    return order_of(report, kept_facts(store, row), Profile.model_validate_json(row.profile_json))
