"""``/v1/inspections``: upload, list, look, cancel, delete."""

from __future__ import annotations

from functools import partial
from urllib.parse import urlencode

from flask import Response, request
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import guard_api, manages, own_inspection, owner
from service.api import resources, shown
from service.api.conditions import check_unchanged
from service.api.described import AGAIN, APPLIED, BEARER, PLACE, TAG, answers, body, given, not_null
from service.api.done import RETRY_SECONDS, UNFINISHED, done_inspection
from service.api.examples import CANCELLED, DONE, FAILED, FORM_BODY, LISTED, QUEUED
from service.api.resources import (
    ChangeHeader,
    InspectionPath,
    ListQuery,
    PreferHeader,
    UploadFields,
    UploadHeaders,
    UploadQuery,
)
from service.api.shown import JSON, address_of, answer, cacheable
from service.api.upload_fields import beside_of, fields_of, once_by
from service.api.waiting import Waited, apply_preference
from service.callbacks import refuse_unless_called, ring_if_called
from service.house import settings, store
from service.idempotency import REPLAYED, key_of
from service.intake import Arrived, Wish, admit, profile_named, receive
from service.problems import Problem
from service.quotas import need_place
from worker.store import BadCursor, Inspection, Page

__all__ = ["blueprint"]

blueprint = APIBlueprint("inspections", __name__, url_prefix="/v1", abp_tags=[{"name": "inspections"}])
blueprint.before_request(guard_api)

FORM_SCHEMA = {
    "type": "object",
    "required": ["file", "profile"],
    "additionalProperties": False,
    "properties": {
        "file": {"type": "string", "format": "binary", "description": "The book's interior."},
        **{name: not_null(schema) for name, schema in UploadFields.model_json_schema()["properties"].items()},
    },
}
UPLOAD = body(
    "A form with the PDF as its part `file`, or the PDF itself with its fields in the query.",
    **{
        "multipart/form-data": {
            "schema": FORM_SCHEMA,
            "encoding": {"file": {"contentType": "application/pdf"}},
            "examples": FORM_BODY,
        },
        "application/pdf": {"schema": {"type": "string", "format": "binary"}},
    },
)
ONWARD = dict.fromkeys(("getInspection", "getReport", "cancelInspection", "deleteInspection"), "id")
"""What one does with an inspection, by its id."""


@blueprint.post(
    "/inspections",
    operation_id="createInspection",
    security=BEARER,
    request_body=UPLOAD,
    responses=answers(
        {
            201: given(
                "It ended within the preferred wait",
                (JSON, resources.Inspection),
                headers=PLACE | APPLIED,
                examples=DONE | FAILED,
                links=ONWARD,
            ),
            202: given(
                "The file is kept and its turn will come",
                (JSON, resources.Inspection),
                headers=PLACE | APPLIED | AGAIN,
                examples=QUEUED,
                links=ONWARD,
            ),
        },
        *UNFINISHED,
        problems.MALFORMED,
        problems.FOREIGN_ORIGIN,
        problems.TOO_SLOW,
        problems.TOO_LARGE,
        problems.NOT_A_PDF,
        problems.UNSUPPORTED_MEDIA_TYPE,
        problems.INVALID,
        problems.UNKNOWN_PROFILE,
        problems.EMPTY_FILE,
        problems.CALLBACK_REFUSED,
        problems.KEY_REUSED,
        problems.KEY_SPENT,
        problems.QUOTA_AT_ONCE,
        problems.QUOTA_A_DAY,
        problems.QUOTA_BYTES,
        problems.BUSY,
        problems.STORE_FULL,
    ),
)
def create(header: UploadHeaders, query: UploadQuery) -> Response:
    """Upload a book

    Answered once the file and its row are durable, before measuring begins. With `Prefer: wait=N` it is answered once
    the inspection has ended (201), or after N seconds (202).

    With `against`, the id of your inspection of an earlier file of the same book, the report says in `comparison` what
    is mended, what is new and what stays. It has to be done; where it is deleted before this one is, nothing is
    compared.

    With an `Idempotency-Key` the same file and fields, sent again within the hours that GET /v1/limits says, are the
    same inspection, answered as it is by then; other ones are refused. Of two at once, the later one waits for the
    earlier one. A refused upload leaves its key free.

    With `callback_url` a signed call (Standard Webhooks) goes there once the inspection is done, has failed or is
    cancelled; GET its `deliveries` to see how it went. Deleting the inspection ends it.
    """
    key = key_of(header.idempotency_key)
    if query.profile is not None:  # known before the file has come
        profile_named(query.profile, owner())
    if query.against is not None:
        done_inspection(query.against)
    if query.callback_url is not None:
        refuse_unless_called(query.callback_url)
    if key is None:  # what is sent again takes no place of its own; a new one is refused as its row is made
        need_place(owner(), request)
    brought: dict[str, str] = {}
    with receive(request, store(), settings().limits.bytes, brought) as arrived:
        row, replayed = _admitted_once(arrived, fields_of(UploadFields, query, brought), key)
    waited = Waited(row, header.prefer)
    made = _answer(waited.row, 201 if waited.row.finished else 202, Location=address_of(row.id))
    if replayed:
        made.headers[REPLAYED] = "true"
    return apply_preference(made, waited)


@blueprint.get(
    "/inspections",
    operation_id="listInspections",
    security=BEARER,
    responses=answers(
        {
            200: given(
                "A part of the list",
                (JSON, resources.InspectionList),
                headers={"Link": "The part after it (RFC 8288), `rel=next`, and the newest, `rel=first`."} | TAG,
                examples=LISTED,
            )
        },
        problems.INVALID,
        cached=True,
    ),
)
def listed(query: ListQuery) -> Response:
    """Your inspections, newest first"""
    page = _page(query)
    following = _address_of_list(query, page.next) if page.next else None
    links = [f'<{_address_of_list(query, None)}>; rel="first"']
    links += [f'<{following}>; rel="next"'] if following else []
    rows = [shown.inspection(row, store().rows.position(row)) for row in page.items]
    return cacheable(answer(resources.InspectionList(inspections=rows, next=following), Link=", ".join(links)))


@blueprint.get(
    "/inspections/<id>",
    operation_id="getInspection",
    security=BEARER,
    responses=answers(
        {
            200: given(
                "How it stands",
                (JSON, resources.Inspection),
                headers=APPLIED | TAG | AGAIN,
                examples=QUEUED | DONE | FAILED,
            )
        },
        problems.NO_SUCH_INSPECTION,
        cached=True,
    ),
)
def one(header: PreferHeader, path: InspectionPath) -> Response:
    """How an inspection stands

    With `Prefer: wait=N` it is answered once the inspection has ended, or after N seconds.
    """
    waited = Waited(own_inspection(path.id), header.prefer)
    return cacheable(apply_preference(_answer(waited.row), waited))


@blueprint.post(
    "/inspections/<id>/cancellation",
    operation_id="cancelInspection",
    security=BEARER,
    responses=answers(
        {200: given("It is cancelled", (JSON, resources.Inspection), examples=CANCELLED)},
        problems.FOREIGN_ORIGIN,
        problems.NO_SUCH_INSPECTION,
        problems.ALREADY_ENDED,
    ),
)
def cancel(path: InspectionPath) -> Response:
    """Stop an inspection, running or not"""
    row = store().rows.cancel(own_inspection(path.id).id, owner()) or own_inspection(path.id)
    ring_if_called(row.id)
    if row.state != "cancelled":
        detail = f"This inspection has ended ({row.state}) and cannot be cancelled. DELETE it to be rid of it."
        raise Problem(problems.ALREADY_ENDED, detail, state=row.state)
    return _answer(row)


@blueprint.delete(
    "/inspections/<id>",
    operation_id="deleteInspection",
    security=BEARER,
    responses=answers(
        {204: given("It is gone")},
        problems.FOREIGN_ORIGIN,
        problems.NO_SUCH_INSPECTION,
        problems.CHANGED_MEANWHILE,
    ),
)
@manages
def delete(header: ChangeHeader, path: InspectionPath) -> Response:
    """Delete an inspection: its file, pictures and report

    One that runs is stopped first. `If-Match` is honoured and not asked for.
    """
    row = own_inspection(path.id)
    check_unchanged(lambda: shown.inspection(row, store().rows.position(row)))
    store().rows.cancel(row.id, row.owner)
    store().delete(row.id, row.owner)
    return Response(status=204)


def _admitted_once(arrived: Arrived, fields: UploadFields, key: str | None) -> tuple[Inspection, bool]:
    """The inspection of what has arrived, and whether its key had made it before. Raises :class:`Problem`."""
    named = fields.model_dump(exclude_none=True) | {"name": fields.name or arrived.file_name}
    once = once_by(key, arrived, named)
    beside = partial(beside_of, once, fields.callback_url)
    return once.admit(lambda: admit(store(), arrived, _wish(fields), owner(), beside))


def _wish(fields: UploadFields) -> Wish:
    """What the caller wants. Raises :class:`Problem`."""
    if fields.callback_url is not None:
        refuse_unless_called(fields.callback_url)
    against = done_inspection(fields.against).id if fields.against is not None else None
    return Wish(profile_named(fields.profile, owner()), fields.title, fields.pages, fields.name, against)


def _page(query: ListQuery) -> Page:
    try:
        return store().rows.page(
            owner(),
            state=query.state,
            verdict=query.verdict,
            profile=query.profile,
            title=query.title,
            after=query.after,
            size=query.limit,
        )
    except BadCursor:
        detail = "This cursor is not one of ours. Take the address from the header `Link`, or begin at the first part."
        raise Problem(problems.INVALID, detail, errors=[{"field": "after", "detail": detail}]) from None


def _address_of_list(query: ListQuery, after: str | None) -> str:
    asked = query.model_dump(mode="json", exclude_defaults=True) | {"after": after}
    text = urlencode({name: value for name, value in asked.items() if value is not None})
    return f"/v1/inspections?{text}" if text else "/v1/inspections"


def _answer(row: Inspection, status: int = 200, **headers: str) -> Response:
    """A row as it stands; one that has not ended says when to ask again."""
    wait = {} if row.finished else {"Retry_After": RETRY_SECONDS}
    return answer(shown.inspection(row, store().rows.position(row)), status, **wait, **headers)
