"""What is said with a file, in its form, in the address, or some in each; and what is made with its row."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from service.access import owner
from service.callbacks import call_for
from service.errors import invalid
from service.house import settings, store
from service.idempotency import Once, fingerprint
from service.intake import Arrived
from service.problems import INVALID, Problem
from worker.store import Beside

__all__ = ["beside_of", "fields_of", "once_by"]

Fields = TypeVar("Fields", bound=BaseModel)


def fields_of(model: type[Fields], query: BaseModel, brought: Mapping[str, str]) -> Fields:
    """The fields of the query and those that the form ``brought``, as ``model``. Raises :class:`Problem`."""
    asked: dict[str, Any] = query.model_dump(exclude_none=True)
    for name in brought.keys() & asked.keys():
        detail = "It was given in the form and in the address; give it once."
        raise Problem(INVALID, f"{name}: {detail}", errors=[{"field": name, "detail": detail}])
    try:
        return model.model_validate(asked | dict(brought))
    except ValidationError as error:
        raise invalid(error) from None


def once_by(key: str | None, arrived: Arrived, said: Mapping[str, Any]) -> Once:
    """This upload under its ``Idempotency-Key``; ``said`` is what was said with the file."""
    kept = timedelta(hours=settings().repeat_hours)
    return Once(store(), owner(), key, fingerprint(arrived.incoming.sha256, said), kept)


def beside_of(once: Once, callback_url: str | None, inspection_id: str) -> Beside:
    """What is made with the row of this inspection: the key that it takes, and the call that was asked for."""
    called = call_for(inspection_id, callback_url) if callback_url is not None else None
    return Beside(key=once.taken_by(inspection_id), call=called)
