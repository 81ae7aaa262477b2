"""How the service stands: alive, able to take work, and within which limits. Open to all."""

from __future__ import annotations

from collections.abc import Callable

from flask import Response
from flask_openapi.blueprint import APIBlueprint
from sqlalchemy.exc import SQLAlchemyError

from service.api.described import answers, given
from service.api.resources import Health, LimitsInForce, Readiness
from service.api.shown import JSON, answer
from service.api.waiting import MOST_SECONDS
from service.house import settings, store
from worker import __version__
from worker.queue import broker_answers
from worker.store import StoreDown

__all__ = ["blueprint"]

blueprint = APIBlueprint("standing", __name__, url_prefix="/v1", abp_tags=[{"name": "standing"}])

ANSWERS = "answers"


@blueprint.get(
    "/health",
    operation_id="getHealth",
    responses=answers({200: given("Alive", (JSON, Health))}, guarded=False),
)
def health() -> Response:
    """Whether the service is alive"""
    return answer(Health(version=__version__))


@blueprint.get(
    "/ready",
    operation_id="getReadiness",
    responses=answers(
        {
            200: given("Work can be taken", (JSON, Readiness)),
            503: given("Work cannot be taken; it says which part does not answer", (JSON, Readiness)),
        },
        guarded=False,
    ),
)
def ready() -> Response:
    """Whether work can be taken: broker, database and store answer"""
    broker = ANSWERS if broker_answers() else "does not answer"
    database = _checked(store().check_database)
    kept = _checked(store().bytes.check)
    all_answer = {broker, database, kept} == {ANSWERS}
    body = Readiness(ready=all_answer, broker=broker, database=database, store=kept)
    return answer(body) if all_answer else answer(body, 503, Retry_After="5")


@blueprint.get(
    "/limits",
    operation_id="getLimits",
    responses=answers({200: given("The limits", (JSON, LimitsInForce))}, guarded=False),
)
def limits() -> Response:
    """Every limit that is in force"""
    found = settings()
    return answer(
        LimitsInForce(
            bytes=found.limits.bytes,
            pages=found.limits.pages,
            seconds=found.limits.seconds,
            memory=found.limits.memory,
            days_kept=found.days_kept,
            wait=MOST_SECONDS,
        )
    )


def _checked(check: Callable[[], None]) -> str:
    try:
        check()
    except (StoreDown, SQLAlchemyError, OSError):
        return "does not answer"
    return ANSWERS
