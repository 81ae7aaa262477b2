"""Callbacks as the service sees them: whether an address is called, and whose secret signs the call."""

from __future__ import annotations

from service.access import Caller, caller
from service.house import settings, store
from service.problems import CALLBACK_REFUSED, Problem
from worker.callbacks.address import Refused, target_of
from worker.callbacks.signing import callback_secret, key_mark
from worker.house_key import house_key
from worker.queue import ring_calls
from worker.store import Delivery, asked_for

__all__ = ["call_for", "own_secret", "refuse_unless_called", "ring_if_called", "secret_of_token"]


def refuse_unless_called(url: str, named: str = "callback_url") -> None:
    """Raise :class:`Problem` for an address that is not called, as far as can be told without looking up its name.

    ``named``: what it is called where it was given.
    """
    try:
        target_of(url, settings().callback_hosts)
    except Refused as refused:
        raise Problem(
            CALLBACK_REFUSED,
            f"{named}: {refused}",
            errors=[{"field": "callback_url", "detail": str(refused)}],
        ) from None


def call_for(inspection_id: str, url: str, by: Caller | None = None) -> Delivery:
    """The row of a call to ``url`` once this inspection has ended, asked for ``by`` whoever calls the API."""
    by = by or caller()
    return asked_for(inspection_id, owner=by.owner, signer=_signer(by), key_mark=key_mark(_key()), url=url)


def ring_if_called(inspection_id: str) -> None:
    """Tell a worker that an inspection which the service itself has ended has a call that is due."""
    if store().callbacks.of_inspection(inspection_id) is not None:
        ring_calls()


def own_secret(by: Caller | None = None) -> str:
    """The secret by which callbacks are signed that are asked for ``by`` whoever calls the API."""
    return callback_secret(_key(), _signer(by or caller()))


def secret_of_token(token_id: str) -> str:
    """The secret by which callbacks are signed that are asked for with this token."""
    return callback_secret(_key(), token_id)


def _signer(by: Caller) -> str:
    """Whose secret it is: the token's, or the owner's where there is no token."""
    return by.token or by.owner


def _key() -> str:
    return house_key(settings().data)
