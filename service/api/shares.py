"""``/v1/inspections/{id}/shares``: links by which an inspection is read without a token."""

from __future__ import annotations

from flask import Response
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import guard_api, manages, own_inspection
from service.api import resources
from service.api.described import BEARER, TAG, answers, body, given
from service.api.done import UNFINISHED, done_inspection
from service.api.examples import SHARED, SHARES
from service.api.json_body import json_body
from service.api.resources import InspectionPath, ShareOrder, SharePath
from service.api.shown import JSON, address_of, answer, cacheable
from service.desk.ids import is_id
from service.house import store
from service.problems import Problem
from service.sharing import BadDays, link_made
from worker.store import TooManyShares

__all__ = ["blueprint"]

blueprint = APIBlueprint("shares", __name__, url_prefix="/v1", abp_tags=[{"name": "shares"}])
blueprint.before_request(guard_api)


@blueprint.post(
    "/inspections/<id>/shares",
    operation_id="shareInspection",
    security=BEARER,
    request_body=body(
        "For how many days.",
        **{JSON: {"schema": {"$ref": "#/components/schemas/ShareOrder"}, "example": {"days": 7}}},
    ),
    responses=answers(
        {
            201: given(
                "The link; it is not shown again",
                (JSON, resources.NewShare),
                headers={"Location": "Where the link is withdrawn."},
                examples=SHARED,
            )
        },
        *UNFINISHED,
        problems.MALFORMED,
        problems.FOREIGN_ORIGIN,
        problems.TOO_SLOW,
        problems.TOO_LARGE,
        problems.UNSUPPORTED_MEDIA_TYPE,
        problems.INVALID,
        problems.TOO_MANY_SHARES,
    ),
)
@manages
def share(path: InspectionPath) -> Response:
    """Share an inspection by a link

    Whoever has the link reads the report of this inspection, and has its JSON, the proof and the pages' pictures,
    without a token; nothing else, and nothing can be changed. It ends by itself on its day, at the latest with the
    inspection.
    """
    row = done_inspection(path.id)
    order = json_body(ShareOrder)
    try:
        made, link = link_made(row, order.days)
    except BadDays as bad:
        raise Problem(problems.INVALID, f"days: {bad}", errors=[{"field": "days", "detail": str(bad)}]) from None
    except TooManyShares as error:
        detail = f"The inspection cannot be shared once more: {error} (DELETE {address_of(row.id)}/shares/…)."
        raise Problem(problems.TOO_MANY_SHARES, detail) from None
    shown = resources.NewShare(id=made.id, created_at=made.created_at, expires_at=made.expires_at, link=link)
    made_answer = answer(shown, 201, Location=f"{address_of(row.id)}/shares/{made.id}")
    made_answer.headers["Cache-Control"] = "no-store"
    return made_answer


@blueprint.get(
    "/inspections/<id>/shares",
    operation_id="listShares",
    security=BEARER,
    responses=answers(
        {200: given("The links that hold", (JSON, resources.ShareList), headers=TAG, examples=SHARES)},
        problems.NO_SUCH_INSPECTION,
        cached=True,
    ),
)
def listed(path: InspectionPath) -> Response:
    """The links to an inspection that hold, oldest first

    The links themselves are not shown again.
    """
    found = store().shares.of(own_inspection(path.id).id)
    shares = [resources.Share(id=each.id, created_at=each.created_at, expires_at=each.expires_at) for each in found]
    return cacheable(answer(resources.ShareList(shares=shares)))


@blueprint.delete(
    "/inspections/<id>/shares/<share>",
    operation_id="withdrawShare",
    security=BEARER,
    responses=answers(
        {204: given("The link leads nowhere any more")},
        problems.FOREIGN_ORIGIN,
        problems.NO_SUCH_INSPECTION,
        problems.NO_SUCH_SHARE,
    ),
)
@manages
def withdraw(path: SharePath) -> Response:
    """Withdraw a link, at once"""
    row = own_inspection(path.id)
    if not is_id("shr", path.share) or not store().shares.withdraw(path.share, row.id):
        detail = (
            f"This inspection has no such link that holds. GET {address_of(row.id)}/shares lists those that it has."
        )
        raise Problem(problems.NO_SUCH_SHARE, detail)
    return Response(status=204)
