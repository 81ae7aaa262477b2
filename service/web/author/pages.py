"""What an author sees: what to send, what came by the link, and the report of each."""

from __future__ import annotations

from dataclasses import asdict

from flask import jsonify, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.desk.taking_in import submit
from service.house import settings, store
from service.intake import receive
from service.problems import Problem
from service.web.author.room import NoLink, blueprint
from service.web.desk.words import FileCard, file_card
from service.web.forgery import FIELD, guard_form
from service.web.inspection import RELOAD_SECONDS
from service.web.reading import REPORT_POLICY
from service.web.script import by_script
from service.web.words import failure_of, progress_of
from worker.queue import broker_answers
from worker.report.words import shown
from worker.reporting import kept_page
from worker.store import AuthorLink, Inspection, LinkSpent, Missing, Submission, Title
from worker.units import show_size

__all__ = ["file", "page", "progress", "report", "send"]

SPENT = "By this link as many files have come within a day as may: {most}. Send the next one tomorrow."
SPENT_STATUS = 429


@blueprint.get("/<secret>")
def page(secret: str) -> ResponseReturnValue:
    """What to send, and what has been sent."""
    link, title = _found(secret)
    return _page(secret, link, title)


@blueprint.post("/<secret>")
def send(secret: str) -> ResponseReturnValue:
    """Take a file in by the link."""
    link, title = _found(secret)
    most = settings().author_files_a_day
    if store().titles.came_today(link.id) >= most:
        return _refused(secret, link, title, SPENT.format(most=most), SPENT_STATUS)
    brought: dict[str, str] = {}
    try:
        with receive(request, store(), _most_bytes(), brought) as arrived:
            guard_form(brought.get(FIELD, ""))
            made = submit(store(), arrived, title, link_id=link.id, most_a_day=most)
    except LinkSpent:
        return _refused(secret, link, title, SPENT.format(most=most), SPENT_STATUS)
    except Problem as problem:
        return _refused(secret, link, title, problem.detail, problem.kind.status)
    place = url_for("author.file", secret=secret, number=made.number)
    return (jsonify(location=place), 201) if by_script() else redirect(place, 303)


@blueprint.get("/<secret>/files/<int:number>")
def file(secret: str, number: int) -> ResponseReturnValue:
    """How one file fares; then its report."""
    title, submission, row = _sent(secret, number)
    unfinished = row is not None and not row.finished
    return render_template(
        "web/author/file.html",
        secret=secret,
        home=url_for("author.page", secret=secret),
        title=shown(title.title),
        card=file_card(submission, row),
        progress=_progress(row) if row is not None and unfinished else None,
        failure=failure_of(row) if row is not None and row.state == "failed" else None,
        reload_seconds=RELOAD_SECONDS,
    )


@blueprint.get("/<secret>/files/<int:number>/progress")
def progress(secret: str, number: int) -> ResponseReturnValue:
    """The progress as data, for the page's script."""
    _, _, row = _sent(secret, number)
    if row is None:
        raise NoLink
    return jsonify(_progress(row))


@blueprint.get("/<secret>/files/<int:number>/report")
def report(secret: str, number: int) -> ResponseReturnValue:
    """The report, one HTML file that stands alone."""
    _, _, row = _sent(secret, number)
    if row is None or row.state != "done":
        raise NoLink
    try:
        response = make_response(kept_page(store(), row))
    except Missing:
        raise NoLink from None
    response.headers["Content-Security-Policy"] = REPORT_POLICY
    return response


def _found(secret: str) -> tuple[AuthorLink, Title]:
    """Raises :class:`NoLink`, in one way whatever the reason."""
    found = store().author_links.find(secret)
    if found is None:
        raise NoLink
    return found


def _sent(secret: str, number: int) -> tuple[Title, Submission, Inspection | None]:
    """A file that came by this very link, and its inspection as long as it is kept. Raises :class:`NoLink`."""
    link, title = _found(secret)
    for submission, row in store().titles.submissions(title.id):
        if submission.number == number and submission.link_id == link.id:
            return title, submission, row
    raise NoLink


def _files(link: AuthorLink, title: Title) -> list[FileCard]:
    """What came by this link, the last one first."""
    kept = store().titles.submissions(title.id)
    return [file_card(submission, row) for submission, row in reversed(kept) if submission.link_id == link.id]


def _progress(row: Inspection) -> dict[str, object]:
    queued = row.state == "queued"
    told = progress_of(
        row,
        position=store().rows.position(row) if queued else None,
        queue_answers=broker_answers() if queued else True,
    )
    return asdict(told)


def _most_bytes() -> int:
    return min(settings().author_max_bytes, settings().limits.bytes)


def _refused(secret: str, link: AuthorLink, title: Title, problem: str, status: int) -> ResponseReturnValue:
    if by_script():
        return jsonify(problem=problem), status
    return _page(secret, link, title, problem, status)


def _page(secret: str, link: AuthorLink, title: Title, problem: str = "", status: int = 200) -> ResponseReturnValue:
    made = render_template(
        "web/author/page.html",
        secret=secret,
        home=url_for("author.page", secret=secret),
        title=shown(title.title),
        author=shown(title.author),
        files=_files(link, title),
        link=link,
        problem=problem,
        most=settings().author_files_a_day,
        most_bytes=_most_bytes(),
        most_size=show_size(_most_bytes()),
        most_pages=f"{settings().limits.pages:,}",
    )
    return make_response(made, status)
