"""``/v1/titles/{id}/links``: links by which an author sends files of one title, and reads their reports, without a
token."""

from __future__ import annotations

from flask import Response
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import guard_api, manages
from service.api.described import BEARER, TAG, answers, body, given
from service.api.json_body import json_body
from service.api.shown import JSON, answer, cacheable
from service.api.shown_titles import HERE, own_title
from service.api.title_examples import AUTHOR_LINKS, NEW_AUTHOR_LINK
from service.api.title_resources import AuthorLink, AuthorLinkList, AuthorLinkPath, LinkOrder, NewAuthorLink, TitlePath
from service.desk.author_link import author_link_made
from service.desk.ids import is_id
from service.house import store
from service.problems import Problem
from service.sharing import BadDays
from worker.store import AuthorLink as AuthorLinkRow

__all__ = ["blueprint"]

blueprint = APIBlueprint("author_links", __name__, url_prefix="/v1", abp_tags=[{"name": "titles"}])
blueprint.before_request(guard_api)


@blueprint.post(
    "/titles/<id>/links",
    operation_id="createAuthorLink",
    security=BEARER,
    request_body=body(
        "For how many days.",
        **{JSON: {"schema": {"$ref": "#/components/schemas/LinkOrder"}, "example": {"days": 30}}},
    ),
    responses=answers(
        {
            201: given(
                "The link; it is not shown again",
                (JSON, NewAuthorLink),
                headers={"Location": "Where the link is withdrawn."},
                examples=NEW_AUTHOR_LINK,
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
    ),
)
@manages
def make(path: TitlePath) -> Response:
    """Make a link for the author of a title

    Whoever has it sends files of this title, and reads the reports on those, without a token; nothing else. It ends by
    itself on its day.
    """
    row = own_title(path.id)
    order = json_body(LinkOrder)
    try:
        made, link = author_link_made(row, order.days)
    except BadDays as bad:
        raise Problem(problems.INVALID, f"days: {bad}", errors=[{"field": "days", "detail": str(bad)}]) from None
    shown = NewAuthorLink(**dict(_shown(made)), link=link)
    return answer(shown, 201, Location=f"{HERE}/{row.id}/links/{made.id}", Cache_Control="no-store")


@blueprint.get(
    "/titles/<id>/links",
    operation_id="listAuthorLinks",
    security=BEARER,
    responses=answers(
        {200: given("The links", (JSON, AuthorLinkList), headers=TAG, examples=AUTHOR_LINKS)},
        problems.NO_SUCH_TITLE,
        cached=True,
    ),
)
def listed(path: TitlePath) -> Response:
    """The author's links of a title, newest first, those that have ended among them

    The links themselves are not shown again.
    """
    found = store().author_links.of_title(own_title(path.id).id)
    return cacheable(answer(AuthorLinkList(links=[_shown(each) for each in found])))


@blueprint.delete(
    "/titles/<id>/links/<link>",
    operation_id="withdrawAuthorLink",
    security=BEARER,
    responses=answers(
        {204: given("The link leads nowhere any more")},
        problems.FOREIGN_ORIGIN,
        problems.NO_SUCH_TITLE,
        problems.NO_SUCH_LINK,
    ),
)
@manages
def withdraw(path: AuthorLinkPath) -> Response:
    """Withdraw an author's link, at once

    What has come by it stays.
    """
    row = own_title(path.id)
    if not is_id("lnk", path.link) or not store().author_links.withdraw(path.link, row.id):
        detail = f"This title has no such link that holds. GET {HERE}/{row.id}/links lists those that it has."
        raise Problem(problems.NO_SUCH_LINK, detail)
    return Response(status=204)


def _shown(row: AuthorLinkRow) -> AuthorLink:
    return AuthorLink(id=row.id, created_at=row.created_at, expires_at=row.expires_at, withdrawn_at=row.withdrawn_at)
