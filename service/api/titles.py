"""``/v1/titles``: the titles of a press, their files, and the pass for press."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any
from urllib.parse import urlencode

from flask import Response
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import caller, guard_api, manages, owner
from service.api.conditions import check_unchanged
from service.api.described import BEARER, TAG, answers, body, given
from service.api.json_body import MERGE_PATCH, PATCHES, json_body
from service.api.resources import ChangeHeader
from service.api.shown import JSON, answer, cacheable
from service.api.shown_titles import HERE, own_title, shown_listed, shown_title
from service.api.title_examples import LISTED_TITLES, MADE
from service.api.title_resources import (
    Pass,
    Title,
    TitleChanges,
    TitleGiven,
    TitleList,
    TitlePath,
    TitleQuery,
)
from service.desk.fields import BadTitle, new_title, refuse_taken_isbn, tidy_note
from service.desk.isbn_field import BadIsbn, isbn_of
from service.desk.passing import refuse_unless_inspected
from service.desk.taking_in import refusals
from service.house import store
from service.intake import tidy_text
from service.problems import Problem
from worker.store import BadCursor, NewTitle
from worker.store import Title as TitleRow

__all__ = ["blueprint"]

blueprint = APIBlueprint("titles", __name__, url_prefix="/v1", abp_tags=[{"name": "titles"}])
blueprint.before_request(guard_api)

SENT = (
    problems.MALFORMED,
    problems.FOREIGN_ORIGIN,
    problems.TOO_SLOW,
    problems.TOO_LARGE,
    problems.UNSUPPORTED_MEDIA_TYPE,
    problems.INVALID,
)
CHANGES = {"schema": {"$ref": "#/components/schemas/TitleChanges"}, "example": {"expected_pages": 320}}
EXAMPLE = {
    "author": "Maud Kittering",
    "title": "The Salt Road",
    "profile": "ternhaven-mono",
    "isbn": "978-0-00-000000-2",
    "trim": "6 × 9 in",
    "expected_pages": 312,
}


@blueprint.after_request
def _what_a_patch_is(response: Response) -> Response:
    """Where an address says what it allows, say as what a patch is taken (RFC 5789, section 3.1)."""
    if "PATCH" in response.allow:
        response.headers["Accept-Patch"] = ", ".join(PATCHES)
    return response


@blueprint.post(
    "/titles",
    operation_id="createTitle",
    security=BEARER,
    request_body=body(
        "The title.", **{JSON: {"schema": {"$ref": "#/components/schemas/TitleGiven"}, "example": EXAMPLE}}
    ),
    responses=answers(
        {201: given("The title", (JSON, Title), headers={"Location": "Where it is found."}, examples=MADE)}, *SENT
    ),
)
def create() -> Response:
    """Make a title

    It waits for its author until the first file comes.
    """
    made = store().titles.create(owner(), _checked(json_body(TitleGiven).model_dump()))
    return answer(shown_title(made), 201, Location=f"{HERE}/{made.id}")


@blueprint.get(
    "/titles",
    operation_id="listTitles",
    security=BEARER,
    responses=answers(
        {
            200: given(
                "A part of the list",
                (JSON, TitleList),
                headers={"Link": "The part after it (RFC 8288), `rel=next`, and the first, `rel=first`."} | TAG,
                examples=LISTED_TITLES,
            )
        },
        problems.INVALID,
        cached=True,
    ),
)
def listed(query: TitleQuery) -> Response:
    """Your titles, the last touched first"""
    asked = query.model_dump(mode="json", exclude={"limit"})
    try:
        asked["isbn"] = isbn_of(query.isbn or "")
        page = store().titles.page(owner(), size=query.limit, **asked)
    except BadIsbn as bad:
        raise _invalid("isbn", str(bad)) from None
    except BadCursor:
        told = "This cursor is not one of ours. Take the address from the header `Link`, or begin at the first part."
        raise _invalid("after", told) from None
    following = _address_of_list(query, page.next) if page.next else None
    links = [f'<{_address_of_list(query, None)}>; rel="first"']
    links += [f'<{following}>; rel="next"'] if following else []
    titles = TitleList(titles=[shown_listed(each) for each in page.items], next=following)
    return cacheable(answer(titles, Link=", ".join(links)))


@blueprint.get(
    "/titles/<id>",
    operation_id="getTitle",
    security=BEARER,
    responses=answers(
        {200: given("The title", (JSON, Title), headers=TAG, examples=MADE)}, problems.NO_SUCH_TITLE, cached=True
    ),
)
def one(path: TitlePath) -> Response:
    """A title, and where it stands"""
    return cacheable(answer(shown_title(own_title(path.id))))


@blueprint.patch(
    "/titles/<id>",
    operation_id="changeTitle",
    security=BEARER,
    request_body=body(
        "What is to be changed.",
        **{MERGE_PATCH: CHANGES, JSON: CHANGES},
    ),
    responses=answers(
        {200: given("The title as it is now", (JSON, Title), examples=MADE)},
        *SENT,
        problems.NO_SUCH_TITLE,
        problems.CHANGED_MEANWHILE,
    ),
)
@manages
def change(header: ChangeHeader, path: TitlePath) -> Response:
    """Change a title, or where it stands

    The body is a merge patch (RFC 7396): what is left out stays, and null takes away what may be missing. Submissions
    that are judged already stay as they were judged. `If-Match` is honoured and not asked for.
    """
    row = own_title(path.id)
    changes = json_body(TitleChanges).model_dump(exclude_unset=True)
    check_unchanged(lambda: shown_title(row))  # what is refused in any case comes first (RFC 9110, section 13.2.1)
    standing = changes.pop("standing", None)
    with refusals():
        if changes.keys() - {"note"}:
            store().titles.change(row.id, owner(), asdict(_checked(_members(row) | changes, but=row.id)))
        elif changes:  # a note is kept whatever has become of the printer
            store().titles.change(row.id, owner(), {"note": tidy_note(changes["note"] or "")})
        if standing is not None:
            store().titles.stand(row.id, owner(), standing)
    return answer(shown_title(own_title(path.id)))


@blueprint.delete(
    "/titles/<id>",
    operation_id="deleteTitle",
    security=BEARER,
    responses=answers(
        {204: given("It is gone")}, problems.FOREIGN_ORIGIN, problems.NO_SUCH_TITLE, problems.CHANGED_MEANWHILE
    ),
)
@manages
def delete(header: ChangeHeader, path: TitlePath) -> Response:
    """Delete a title: its files, their reports, its author's links

    `If-Match` is honoured and not asked for.
    """
    row = own_title(path.id)
    check_unchanged(lambda: shown_title(row))
    store().delete_title(row.id, owner())
    return Response(status=204)


@blueprint.post(
    "/titles/<id>/pass",
    operation_id="passTitle",
    security=BEARER,
    request_body=body(
        "Which file is passed, and by whom.",
        **{
            JSON: {
                "schema": {"$ref": "#/components/schemas/Pass"},
                "example": {"sha256": "7c" * 32, "by": "Orla Fenwick"},
            }
        },
    ),
    responses=answers(
        {200: given("The title, passed", (JSON, Title), examples=MADE)},
        *SENT,
        problems.NO_SUCH_TITLE,
        problems.TITLE_WITHDRAWN,
        problems.ANOTHER_FILE,
        problems.NOT_FINISHED,
        problems.FAILED,
    ),
)
@manages
def pass_for_press(path: TitlePath) -> Response:
    """Pass the title's last file for press

    The pass is of its bytes alone: another file takes the title back, and needs a pass of its own. The file has to be
    inspected; its verdict is yours to weigh.
    """
    row = own_title(path.id)
    asked = json_body(Pass)
    with refusals():
        refuse_unless_inspected(store(), row, asked.sha256)
        by = tidy_text(asked.by or "") or caller().name
        store().titles.pass_for_press(row.id, owner(), sha256=asked.sha256, by=by)
    return answer(shown_title(own_title(path.id)))


def _members(row: TitleRow) -> dict[str, Any]:
    return {
        "author": row.author,
        "title": row.title,
        "isbn": row.isbn,
        "profile": row.profile_id,
        "trim": row.trim,
        "expected_pages": row.expected_pages,
        "note": row.note,
    }


def _checked(told: dict[str, Any], *, but: str | None = None) -> NewTitle:
    """``but`` is the id of the title that is changed."""
    try:
        new = new_title({name: "" if value is None else str(value) for name, value in told.items()}, owner())
        refuse_taken_isbn(store(), owner(), new, but=but)
        return new
    except BadTitle as bad:
        errors = [{"field": name, "detail": detail} for name, detail in bad.errors.items()]
        raise Problem(problems.INVALID, str(bad), errors=errors) from None


def _invalid(name: str, detail: str) -> Problem:
    return Problem(problems.INVALID, f"{name}: {detail}", errors=[{"field": name, "detail": detail}])


def _address_of_list(query: TitleQuery, after: str | None) -> str:
    asked = query.model_dump(mode="json", exclude_defaults=True) | {"after": after}
    text = urlencode({name: value for name, value in asked.items() if value is not None})
    return f"{HERE}?{text}" if text else HERE
