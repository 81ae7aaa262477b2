"""``/v1/titles/{id}/submissions``: the files of a title, and the letter to its author that is made from a report."""

from __future__ import annotations

from flask import Response, request
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import caller, guard_api, owner
from service.api.accept import chosen
from service.api.described import BEARER, TAG, answers, body, given
from service.api.done import UNFINISHED, done_inspection
from service.api.examples import FORM_OF_A_TITLE, PDF_BODY
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
from service.desk.letters import letter_to_author
from service.desk.taking_in import submit
from service.house import settings, store
from service.intake import receive, tidy_text
from service.problems import Problem
from service.quotas import need_place
from worker.store import Inspection as InspectionRow
from worker.store import Submission as SubmissionRow
from worker.store import Title as TitleRow

__all__ = ["blueprint"]

blueprint = APIBlueprint("submissions", __name__, url_prefix="/v1", abp_tags=[{"name": "titles"}])
blueprint.before_request(guard_api)

TEXT = "text/plain"
FORM_SCHEMA = {
    "type": "object",
    "required": ["file"],
    "additionalProperties": False,
    "properties": {"file": {"type": "string", "format": "binary", "description": "The book's interior."}},
}
FILE = body(
    "A form with the PDF as its part `file`, or the PDF itself.",
    **{
        "multipart/form-data": {
            "schema": FORM_SCHEMA,
            "encoding": {"file": {"contentType": "application/pdf"}},
            "examples": FORM_OF_A_TITLE,
        },
        "application/pdf": {"schema": {"type": "string", "format": "binary"}, "examples": PDF_BODY},
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
            202: given(
                "The file is kept and its turn will come",
                (JSON, Submission),
                headers={"Location": "Where its inspection is found."},
                examples=SUBMITTED,
                links=dict.fromkeys(("getInspection", "getReport", "cancelInspection"), "inspection"),
            )
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
        problems.QUOTA_AT_ONCE,
        problems.QUOTA_A_DAY,
        problems.QUOTA_BYTES,
        problems.BUSY,
        problems.STORE_FULL,
    ),
)
def submit_file(path: TitlePath, query: SubmissionQuery) -> Response:
    """Upload a file of a title

    It is judged by the title's printer and trim, and compared with the title's last file. Its inspection is found at
    `Location`.
    """
    row = own_title(path.id)
    need_place(owner(), request)
    brought: dict[str, str] = {}
    with receive(request, store(), settings().limits.bytes, brought) as arrived:
        if brought:
            name, detail = sorted(brought)[0], "It is not known here; leave it out."
            raise Problem(problems.INVALID, f"{name}: {detail}", errors=[{"field": name, "detail": detail}])
        made = submit(store(), arrived, row, by=caller().name, name=query.name)
    inspection = store().rows.get(made.inspection_id, owner())
    return answer(shown_submission(made, inspection), 202, Location=address_of(made.inspection_id))


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
