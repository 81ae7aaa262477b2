"""The list of titles, and the page of one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from flask import jsonify, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.desk.fields import LONGEST_NOTE, tidy_note
from service.desk.printing import profile_of
from service.desk.taking_in import submit, submit_again
from service.house import settings, store
from service.intake import receive
from service.pictured import ask_for_pictures
from service.problems import Problem
from service.web.desk.reports import report_of
from service.web.desk.visiting import LONGEST_NAME, acts_as, own_title
from service.web.desk.words import STANDINGS, earlier_pass, file_card, listed_card, title_card
from service.web.forgery import FIELD, guard_form
from service.web.listing import Asked, verdict_choices
from service.web.room import blueprint
from service.web.script import by_script
from service.web.visitor import owner, visitor
from worker.book.isbn import as_thirteen
from worker.profiles import Profile
from worker.report.models import Report
from worker.report.words import shown, so_many_pages
from worker.store import AuthorLink, Inspection, Title
from worker.store.models import now
from worker.store.title_models import TO_BE_LOOKED_AT
from worker.units import show_size

__all__ = ["judge_for_title", "note", "send_for_title", "title", "titles"]


@blueprint.get("/titles")
def titles() -> ResponseReturnValue:
    """A part of the list."""
    asked = Asked.of("web.titles", ("about", "standing", "verdict"), request.args)
    page = asked.found(partial(store().titles.page, owner(), to_do_first=True))
    counts = store().titles.counts(owner())
    return render_template(
        "web/desk/titles.html",
        asked=asked,
        cards=[listed_card(listed) for listed in page.items],
        next=page.next,
        standings=STANDINGS,
        counts=[(value, words, counts[value]) for value, words in STANDINGS.items() if counts.get(value)],
        verdicts=verdict_choices(),
        waiting=len(store().arrivals.without_title(owner())),
    )


@blueprint.get("/titles/<title_id>")
def title(title_id: str) -> ResponseReturnValue:
    """The page of a title."""
    return title_page(own_title(title_id))


@blueprint.post("/titles/<title_id>/submissions")
def send_for_title(title_id: str) -> ResponseReturnValue:
    """Take in one more file of the title."""
    row = own_title(title_id)
    brought: dict[str, str] = {}
    try:
        with receive(request, store(), settings().limits.bytes, brought) as arrived:
            guard_form(brought.get(FIELD, ""))
            submit(store(), arrived, row, by=acts_as() or None)
    except Problem as problem:
        if by_script():
            return jsonify(problem=problem.detail), problem.kind.status
        return title_page(row, problem.detail, problem.kind.status)
    place = url_for("web.title", title_id=row.id)
    return (jsonify(location=place), 201) if by_script() else redirect(place, 303)


@blueprint.post("/titles/<title_id>/judgements")
def judge_for_title(title_id: str) -> ResponseReturnValue:
    """Judge the last file once more, by the printer and the size that the title names now."""
    row = own_title(title_id)
    try:
        made = submit_again(store(), row, by=acts_as() or None)
    except Problem as problem:
        return title_page(row, problem.detail, problem.kind.status)
    ask_for_pictures(made.inspection_id)
    return redirect(url_for("web.title", title_id=row.id), 303)


@blueprint.post("/titles/<title_id>/note")
def note(title_id: str) -> ResponseReturnValue:
    """Keep the note."""
    row = own_title(title_id)
    store().titles.change(row.id, owner(), {"note": tidy_note(request.form.get("note", ""))})
    return redirect(url_for("web.title", title_id=row.id) + "#note", 303)


def title_page(row: Title, problem: str = "", status: int = 200) -> ResponseReturnValue:
    """The page, with what went wrong where something has."""
    kept = store().titles.submissions(row.id)
    files = [file_card(submission, inspection) for submission, inspection in kept]
    last = files[-1] if files else None
    report = report_of(kept[-1][1]) if kept else None
    found = visitor()
    page = render_template(
        "web/desk/title.html",
        card=title_card(row, last),
        files=files,
        remarks=list(_remarks(row, report)),
        comparison=report.comparison if report is not None else None,
        summary=shown(report.summary) if report is not None else "",
        passed_before=earlier_pass(files) if row.standing == TO_BE_LOOKED_AT else None,
        judged_for=shown(_judged_for_another(row, kept[-1][1])) if kept else "",
        links=[_link(link) for link in store().author_links.of_title(row.id)],
        link_days=settings().author_link_days,
        problem=problem,
        signed_in=bool(found is not None and found.name),
        acts_as=acts_as(),
        longest_name=LONGEST_NAME,
        longest_note=LONGEST_NOTE,
        most_bytes=settings().limits.bytes,
        most_size=show_size(settings().limits.bytes),
    )
    return make_response(page, status)


def _judged_for_another(row: Title, inspection: Inspection | None) -> str:
    """The printer that the last file was judged for, where the title has been given another one, or another size."""
    if inspection is None or inspection.state != "done":
        return ""
    judged_by = Profile.model_validate_json(inspection.profile_json)
    try:
        now_by = profile_of(row)
    except Problem:
        return ""
    return "" if (judged_by.id, judged_by.name) == (now_by.id, now_by.name) else judged_by.name


def _remarks(row: Title, report: Report | None) -> Iterator[str]:
    """What in the file is not as agreed on, beyond what its printer asks: a sentence each."""
    if report is None:
        return
    imprint = report.book.imprint if report.book is not None else None
    isbns = [as_thirteen(isbn) if len(isbn) == 10 else isbn for isbn in (imprint.isbns if imprint else ())]
    if imprint is not None and isbns and row.isbn and row.isbn not in isbns:
        yield f"The ISBN on its imprint page (page {imprint.page}) is {isbns[0]}, and this title’s is {row.isbn}."
    if row.expected_pages and report.pages and report.pages != row.expected_pages:
        yield f"It has {so_many_pages(report.pages)}; {row.expected_pages:,} are expected."


@dataclass(frozen=True)
class LinkCard:
    """An author's link, without its secret, which is kept nowhere."""

    id: str
    link: AuthorLink
    in_force: bool
    end: str


def _link(link: AuthorLink) -> LinkCard:
    expired = link.expires_at <= now()
    end = "withdrawn" if link.withdrawn_at is not None else "its days are over" if expired else ""
    return LinkCard(link.id, link, not end, end)
