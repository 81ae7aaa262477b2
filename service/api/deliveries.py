"""Callbacks: how the tries at an inspection's call went, a new series of them, and the secret that signs them."""

from __future__ import annotations

from flask import Response
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import guard_api, manages, own_inspection
from service.api import resources
from service.api.described import BEARER, TAG, answers, given
from service.api.examples import DELIVERED, REPEATED, SECRET
from service.api.resources import DeliveryPath, InspectionPath
from service.api.shown import JSON, address_of, answer, cacheable
from service.callbacks import own_secret
from service.house import store
from service.problems import Problem
from worker.callbacks.message import type_of
from worker.queue import ring_calls
from worker.store import Delivery, Inspection

__all__ = ["blueprint"]

blueprint = APIBlueprint("deliveries", __name__, url_prefix="/v1", abp_tags=[{"name": "callbacks"}])
blueprint.before_request(guard_api)


@blueprint.get(
    "/inspections/<id>/deliveries",
    operation_id="listDeliveries",
    security=BEARER,
    responses=answers(
        {
            200: given(
                "The call that was asked for, if one was",
                (JSON, resources.DeliveryList),
                headers=TAG,
                examples=DELIVERED,
            )
        },
        problems.NO_SUCH_INSPECTION,
        cached=True,
    ),
)
def listed(path: InspectionPath) -> Response:
    """How the inspection's callback went

    There is one where `callback_url` was given. `waiting` has a next try; `given-up` has none any more.
    """
    row = own_inspection(path.id)
    found = store().callbacks.of_inspection(row.id)
    shown = [_shown(row, found)] if found is not None else []
    return cacheable(answer(resources.DeliveryList(deliveries=shown)))


@blueprint.post(
    "/inspections/<id>/deliveries/<delivery>/repetition",
    operation_id="repeatDelivery",
    security=BEARER,
    responses=answers(
        {202: given("It is sent again", (JSON, resources.Delivery), examples=REPEATED)},
        problems.FOREIGN_ORIGIN,
        problems.NO_SUCH_INSPECTION,
        problems.NO_SUCH_DELIVERY,
        problems.NOT_FINISHED,
        problems.ON_ITS_WAY,
    ),
)
def repeat(path: DeliveryPath) -> Response:
    """Make the call again, delivered or not

    A new series of tries begins at once. The message and its `webhook-id` stay the same, so that a receiver that has it
    already knows it.
    """
    row = own_inspection(path.id)
    if not row.finished:
        detail = f"The inspection is {row.state}; the call is made once it has ended. Ask again in 2 seconds."
        raise Problem(problems.NOT_FINISHED, detail, headers={"Retry-After": "2"}, state=row.state)
    if _found(row, path.delivery) is None:
        detail = f"This inspection has no such call. GET {address_of(row.id)}/deliveries shows the one it has."
        raise Problem(problems.NO_SUCH_DELIVERY, detail)
    if not store().callbacks.repeat(row.id):
        detail = "It is being sent at this moment. Look again in 20 seconds, and repeat it then if need be."
        raise Problem(problems.ON_ITS_WAY, detail, headers={"Retry-After": "20"})
    ring_calls()
    return answer(_shown(row, store().callbacks.of_inspection(row.id)), 202)


@blueprint.get(
    "/callback-secret",
    operation_id="getCallbackSecret",
    security=BEARER,
    responses=answers({200: given("The secret", (JSON, resources.CallbackSecret), examples=SECRET)}),
)
@manages
def secret() -> Response:
    """The secret by which your callbacks are signed

    It belongs to the token that asks, and stays the same for as long as the service keeps its key. Give it to the
    program that receives the calls; a library for Standard Webhooks takes it as it is.
    """
    return answer(resources.CallbackSecret(secret=own_secret()), Cache_Control="no-store")


def _found(row: Inspection, delivery_id: str) -> Delivery | None:
    found = store().callbacks.of_inspection(row.id)
    return found if found is not None and found.id == delivery_id else None


def _shown(row: Inspection, found: Delivery | None) -> resources.Delivery:
    if found is None:  # deleted since it was read
        raise Problem(problems.NO_SUCH_INSPECTION, "This inspection has just been deleted.")
    return resources.Delivery(
        id=found.id,
        type=type_of(row),
        callback_url=found.url,
        state=found.state,
        attempts=found.attempts,
        next_at=found.next_at,
        last_at=found.last_at,
        last_status=found.last_status,
        last_problem=found.last_problem,
        created_at=found.created_at,
        delivered_at=found.delivered_at,
        expires_at=row.expires_at,
        repetition=f"{address_of(row.id)}/deliveries/{found.id}/repetition" if row.finished else None,
    )
