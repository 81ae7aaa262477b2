"""The letter to the author, made from a file's report, ready to paste. No mail is sent from here."""

from __future__ import annotations

from flask import Response, render_template
from flask.typing import ResponseReturnValue

from service.desk.letters import letter_to_author
from service.house import store
from service.problems import NO_SUCH_INSPECTION, Problem
from service.web.desk.visiting import acts_as, own_title
from service.web.desk.words import file_card, title_card
from service.web.room import blueprint
from worker.store import Inspection, Submission, Title

__all__ = ["letter_page", "letter_text"]


@blueprint.get("/titles/<title_id>/submissions/<int:number>/letter")
def letter_page(title_id: str, number: int) -> ResponseReturnValue:
    """The letter, to be looked over and copied."""
    row = own_title(title_id)
    submission, inspection = _inspected(row, number)
    text = letter_to_author(row, submission, inspection, signed=acts_as())
    return render_template(
        "web/desk/letter.html",
        card=title_card(row, file_card(submission, inspection)),
        text=text,
        lines=min(40, text.count("\n") + len(text) // 90 + 2),
    )


@blueprint.get("/titles/<title_id>/submissions/<int:number>/letter.txt")
def letter_text(title_id: str, number: int) -> ResponseReturnValue:
    """The letter as plain text."""
    row = own_title(title_id)
    return Response(letter_to_author(row, *_inspected(row, number), signed=acts_as()), mimetype="text/plain")


def _inspected(title: Title, number: int) -> tuple[Submission, Inspection]:
    """Raises :class:`Problem` for a file that does not exist, or has no report."""
    found = [each for each in store().titles.submissions(title.id) if each[0].number == number]
    if not found or found[0][1] is None or found[0][1].state != "done":
        raise Problem(
            NO_SUCH_INSPECTION,
            "A letter is made from a report, and this file has none: it is not inspected yet, or its days are over.",
        )
    return found[0][0], found[0][1]
