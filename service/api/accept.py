"""Which form of an answer the caller takes (RFC 9110, section 12.5.1)."""

from __future__ import annotations

from collections.abc import Sequence

from flask import request

from service.problems import NOT_ACCEPTABLE, Problem

__all__ = ["chosen"]


def chosen(available: Sequence[str]) -> str:
    """The media type that the caller likes best; the first one where it likes all alike. Raises :class:`Problem`."""
    accepted = request.accept_mimetypes
    if not accepted:
        return available[0]
    best = accepted.best_match(available)
    if best is None:
        raise Problem(
            NOT_ACCEPTABLE,
            f"This comes as {' or '.join(available)}. Accept one of these, or leave the header `Accept` out.",
            headers={"Vary": "Accept"},
            available=list(available),
        )
    return best
