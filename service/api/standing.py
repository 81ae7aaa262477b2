"""How the service stands: alive, able to take work, and within which limits. Open to all."""

from __future__ import annotations

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait

from flask import Response
from flask_openapi.blueprint import APIBlueprint

from service.api.described import answers, given
from service.api.limits import limits_of
from service.api.resources import Health, LimitsInForce, Readiness
from service.api.shown import JSON, answer
from service.api.standing_examples import ALIVE, LIMITS, READY
from service.api.standing_examples import AWAY as NOT_READY
from service.house import settings, store
from worker import version
from worker.queue import broker_answers

__all__ = ["blueprint"]

blueprint = APIBlueprint("standing", __name__, url_prefix="/v1", abp_tags=[{"name": "standing"}])

log = logging.getLogger(__name__)

ANSWERS, AWAY = "answers", "does not answer"

PATIENCE_SECONDS = 3.0
"""Within which each part answers, or is taken for absent: some of their own clients try again for minutes."""

_askers = ThreadPoolExecutor(9, thread_name_prefix="ready")
"""Three probes may ask at a time; where they all hang, the next one is answered just the same."""


@blueprint.get(
    "/health",
    operation_id="getHealth",
    responses=answers({200: given("Alive", (JSON, Health), examples=ALIVE)}, guarded=False),
)
def health() -> Response:
    """Whether the service is alive"""
    return answer(Health(version=version()))


@blueprint.get(
    "/ready",
    operation_id="getReadiness",
    responses=answers(
        {
            200: given("Work can be taken", (JSON, Readiness), examples=READY),
            503: given(
                "Work cannot be taken; it says which part does not answer",
                (JSON, Readiness),
                headers={"Retry-After": "Seconds after which it is worth asking again."},
                examples=NOT_READY,
            ),
        },
        guarded=False,
    ),
)
def ready() -> Response:
    """Whether work can be taken: broker, database and store answer"""
    said = _ask(broker=_broker, database=store().check_database, store=store().bytes.check)
    all_answer = set(said.values()) == {ANSWERS}
    body = Readiness(ready=all_answer, **said)
    return answer(body) if all_answer else answer(body, 503, Retry_After="5")


@blueprint.get(
    "/limits",
    operation_id="getLimits",
    responses=answers({200: given("The limits", (JSON, LimitsInForce), examples=LIMITS)}, guarded=False),
)
def limits() -> Response:
    """Every limit that is in force"""
    return answer(limits_of(settings()))


def _broker() -> None:
    if not broker_answers():
        raise ConnectionError


def _ask(**parts: Callable[[], None]) -> dict[str, str]:
    """Ask all parts at once; what each says."""
    asked = {name: _askers.submit(_checked, name, check) for name, check in parts.items()}
    wait(asked.values(), PATIENCE_SECONDS)
    return {name: said.result() if said.done() else AWAY for name, said in asked.items()}


def _checked(name: str, check: Callable[[], None]) -> str:
    try:
        check()
    except Exception as error:  # whatever it is, this part cannot be worked with
        log.warning("the %s does not answer: %s", name, error)
        return AWAY
    return ANSWERS
