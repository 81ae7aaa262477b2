"""``/v1/titles/{id}/submissions``: the files of a title, and the letter to its author that is made from a report."""

from __future__ import annotations

from functools import partial

from flask import Response, request
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import caller, guard_api, owner
from service.api.accept import chosen
from service.api.described import AGAIN, APPLIED, BEARER, PLACE, TAG, answers, body, given, not_null
from service.api.done import RETRY_SECONDS, UNFINISHED, done_inspection
from service.api.examples import FORM_OF_A_TITLE
from service.api.resources import UploadHeaders
from service.api.shown import JSON, address_of, answer, cacheable
from service.api.shown_titles import HERE, own_title, shown_submission
from service.api.title_examples import FILES, INSPECTED, LETTER, SUBMITTED
from service.api.title_resources import (
    Letter,
    LetterQuery,
    Submission,
    SubmissionList,
    SubmissionPath,
    SubmissionQuery,
    TitlePath,
)
from service.api.upload_fields import beside_of, fields_of, once_by
from service.api.waiting import Waited, apply_preference
from service.callbacks import refuse_unless_called
from service.desk.letters import letter_to_author
from service.desk.taking_in import admit_for, noted, refuse_withdrawn
from service.house import settings, store
from service.idempotency import REPLAYED, key_of
from service.intake import Arrived, receive, tidy_text
from service.problems import Problem
from service.quotas import need_place
from worker.store import Inspection as InspectionRow
from worker.store import Submission as SubmissionRow
from worker.store import Title as TitleRow

__all__ = ["blueprint"]

blueprint = APIBlueprint("submissions", __name__, url_prefix="/v1", abp_tags=[{"name": "titles"}])
blueprint.before_request(guard_api)

TEXT = "text/plain"
ONWARD = dict.fromkeys(("getInspection", "getReport", "cancelInspection"), "inspection")
"""What one does with the inspection of a file, by its id."""
FORM_SCHEMA = {
    "type": "object",
    "required": ["file"],
    "additionalProperties": False,
    "properties": {
        "file": {"type": "string", "format": "binary", "description": "The book's interior."},
        **{name: not_null(schema) for name, schema in SubmissionQuery.model_json_schema()["properties"].items()},
    },
}
FILE = body(
    "A form with the PDF as its part `file`, or the PDF itself.",
    **{
        "multipart/form-data": {
            "schema": FORM_SCHEMA,
            "encoding": {"file": {"contentType": "application/pdf"}},
            "examples": FORM_OF_A_TITLE,
        },
        "application/pdf": {"schema": {"type": "string", "format": "binary"}},
    },
)


@blueprint.get(
    "/titles/<id>/submissions",
    operation_id="listSubmissions",
    security=BEARER,
    responses=answers(
        {200: given("Every file", (JSON, SubmissionList), headers=TAG, examples=FILES)},
        problems.NO_SUCH_TITLE,
        cached=True,
    ),
)
def listed(path: TitlePath) -> Response:
    """The files of a title, in the order in which they came"""
    row = own_title(path.id)
    kept = store().titles.submissions(row.id)
    return cacheable(answer(SubmissionList(submissions=[shown_submission(*each) for each in kept])))


@blueprint.post(
    "/titles/<id>/submissions",
    operation_id="createSubmission",
    security=BEARER,
    request_body=FILE,
    responses=answers(
        {
            201: given(
                "It ended within the preferred wait",
                (JSON, Submission),
                headers=PLACE | APPLIED,
                examples=INSPECTED,
                links=ONWARD,
            ),
            202: given(
                "The file is kept and its turn will come",
                (JSON, Submission),
                headers=PLACE | APPLIED | AGAIN,
                examples=SUBMITTED,
                links=ONWARD,
            ),
        },
        problems.MALFORMED,
        problems.FOREIGN_ORIGIN,
        problems.TOO_SLOW,
        problems.TOO_LARGE,
        problems.UNSUPPORTED_MEDIA_TYPE,
        problems.INVALID,
        problems.NO_SUCH_TITLE,
        problems.TITLE_WITHDRAWN,
        problems.NOT_A_PDF,
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
def submit_file(header: UploadHeaders, path: TitlePath, query: SubmissionQuery) -> Response:
    """Upload a file of a title

    It is judged by the title's printer and trim, and compared with the title's last file. Its inspection is found at
    `Location`. `Idempotency-Key`, `callback_url` and `Prefer` are as with any upload: the same file sent again is the
    same submission.
    """
    title, key = own_title(path.id), key_of(header.idempotency_key)
    refuse_withdrawn(title)
    if query.callback_url is not None:
        refuse_unless_called(query.callback_url)
    if key is None:  # what is sent again takes no place of its own; a new one is refused as its row is made
        need_place(owner(), request)
    brought: dict[str, str] = {}
    with receive(request, store(), settings().limits.bytes, brought) as arrived:
        made, row, replayed = _submitted_once(arrived, title, fields_of(SubmissionQuery, query, brought), key)
    waited = Waited(row, header.prefer)
    status, again = (201, {}) if waited.row.finished else (202, {"Retry_After": RETRY_SECONDS})
    answered = answer(shown_submission(made, waited.row), status, Location=address_of(row.id), **again)
    if replayed:
        answered.headers[REPLAYED] = "true"
    return apply_preference(answered, waited)


def _submitted_once(
    arrived: Arrived, title: TitleRow, fields: SubmissionQuery, key: str | None
) -> tuple[SubmissionRow, InspectionRow, bool]:
    """The file of the title, its inspection, and whether its key had made it before. Raises :class:`Problem`.

    What the key made is noted with the title in any case: the service may have been killed before it was.
    """
    if fields.callback_url is not None:
        refuse_unless_called(fields.callback_url)
    said = fields.model_dump(exclude_none=True) | {"of": title.id, "name": fields.name or arrived.file_name}
    once = once_by(key, arrived, said)
    beside = partial(beside_of, once, fields.callback_url)
    row, replayed = once.admit(lambda: admit_for(store(), arrived, title, fields.name, beside))
    return noted(store(), row, title, caller().name), row, replayed


@blueprint.get(
    "/titles/<id>/submissions/<int:number>",
    operation_id="getSubmission",
    security=BEARER,
    responses=answers(
        {200: given("The file, and how it stands", (JSON, Submission), headers=TAG, examples=SUBMITTED | INSPECTED)},
        problems.NO_SUCH_TITLE,
        problems.NO_SUCH_SUBMISSION,
        cached=True,
    ),
)
def one(path: SubmissionPath) -> Response:
    """A file of a title"""
    return cacheable(answer(shown_submission(*_submission(own_title(path.id), path.number))))


@blueprint.get(
    "/titles/<id>/submissions/<int:number>/letter",
    operation_id="getLetter",
    security=BEARER,
    responses=answers(
        {200: given("The letter", (JSON, Letter), (TEXT, {"type": "string"}), headers=TAG, examples=LETTER)},
        *UNFINISHED,
        problems.NO_SUCH_TITLE,
        problems.NO_SUCH_SUBMISSION,
        problems.NOT_ACCEPTABLE,
        problems.INVALID,
        cached=True,
    ),
)
def letter(path: SubmissionPath, query: LetterQuery) -> Response:
    """The letter to the author, made from a file's report

    As JSON or plain text by `Accept`, ready to paste: no mail is sent. It is made anew each time, by what is agreed on
    the title now.
    """
    title = own_title(path.id)
    submission, _ = _submission(title, path.number)
    row = done_inspection(submission.inspection_id)
    text = letter_to_author(title, submission, row, signed=tidy_text(query.signed or "") or caller().name or "")
    if chosen((JSON, TEXT)) == TEXT:
        made = Response(text, mimetype=TEXT)
    else:
        made = answer(Letter(title=title.id, number=submission.number, inspection=row.id, text=text))
    made.headers["Vary"] = "Accept"
    return cacheable(made)


def _submission(title: TitleRow, number: int) -> tuple[SubmissionRow, InspectionRow | None]:
    """The title's file of that number. Raises :class:`Problem`."""
    for found in store().titles.submissions(title.id):
        if found[0].number == number:
            return found
    detail = f"The title has {title.submissions} files, counted from 1. GET {HERE}/{title.id}/submissions lists them."
    raise Problem(problems.NO_SUCH_SUBMISSION, detail)
