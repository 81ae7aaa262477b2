"""``/v1/quota``: what the caller has here, and may have."""

from __future__ import annotations

from flask import Response
from flask_openapi.blueprint import APIBlueprint

from service.access import guard_api, owner
from service.api.described import BEARER, answers, given
from service.api.resources import Account, Quota
from service.api.shown import JSON, answer
from service.api.standing_examples import QUOTA
from service.house import settings, store
from worker.store.quotas import next_day

__all__ = ["blueprint"]

blueprint = APIBlueprint("quota", __name__, url_prefix="/v1", abp_tags=[{"name": "standing"}])
blueprint.before_request(guard_api)


@blueprint.get(
    "/quota",
    operation_id="getQuota",
    security=BEARER,
    responses=answers({200: given("What you have, and may have", (JSON, Quota), examples=QUOTA)}),
)
def quota() -> Response:
    """What you have here, and may have

    Judging again counts among the bytes, since the new inspection has its file too, and not among the files sent.
    """
    used, most = store().quotas.used(owner()), settings().quota
    return answer(
        Quota(
            files_at_once=Account(used=used.at_once, most=most.at_once),
            files_a_day=Account(used=used.a_day, most=most.a_day),
            bytes_kept=Account(used=used.bytes, most=most.bytes),
            day_ends_at=next_day(),
        )
    )
