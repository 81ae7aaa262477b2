"""Callbacks as the service sees them: whether an address is called, and whose secret signs the call."""

from __future__ import annotations

from service.access import caller, owner
from service.house import settings, store
from service.problems import CALLBACK_REFUSED, Problem
from worker.callbacks.address import Refused, target_of
from worker.callbacks.signing import callback_secret, key_mark
from worker.house_key import house_key
from worker.queue import ring_calls
from worker.store import Delivery, asked_for

__all__ = ["call_for", "own_secret", "refuse_unless_called", "ring_if_called"]


def refuse_unless_called(url: str) -> None:
    """Raise :class:`Problem` for an address that is not called, as far as can be told without looking up its name."""
    try:
        target_of(url, settings().callback_hosts)
    except Refused as refused:
        raise Problem(
            CALLBACK_REFUSED,
            f"callback_url: {refused}",
            errors=[{"field": "callback_url", "detail": str(refused)}],
        ) from None


def call_for(inspection_id: str, url: str) -> Delivery:
    """The row of a call to ``url`` once this inspection has ended."""
    return asked_for(inspection_id, owner=owner(), signer=_signer(), key_mark=key_mark(_key()), url=url)


def ring_if_called(inspection_id: str) -> None:
    """Tell a worker that an inspection which the service itself has ended has a call that is due."""
    if store().callbacks.of_inspection(inspection_id) is not None:
        ring_calls()


def own_secret() -> str:
    """The secret by which the caller's callbacks are signed."""
    return callback_secret(_key(), _signer())


def _signer() -> str:
    """Whose secret it is: the token's, or the owner's where there is no token."""
    return caller().token or owner()


def _key() -> str:
    return house_key(settings().data)
