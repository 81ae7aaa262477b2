"""Taking in several files at once: each goes to its title where that is sure, and else one says which it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flask import jsonify, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.desk.ids import is_id
from service.desk.matching import Match, clues_of, match, match_by_number
from service.desk.taking_in import no_such_title, submit, submit_kept
from service.house import settings, store
from service.intake import MOST_FILES, Arrived, Wish, admit, file_name_of, profile_named, receive_many
from service.problems import NO_SUCH_INSPECTION, NOT_FOUND, Problem
from service.web.desk.reports import report_of
from service.web.desk.visiting import acts_as
from service.web.desk.words import TitleCard, title_card
from service.web.forgery import FIELD, guard_form
from service.web.room import blueprint
from service.web.script import by_script
from service.web.visitor import owner
from service.web.words import Card, card_of
from worker.report.words import shown
from worker.store import Arrival, Inspection, NewArrival, Title
from worker.units import show_size

__all__ = ["delivery", "own_arrival", "place", "place_arrival", "send_many", "take_in"]

READ_BY = "common-paperback"
"""The profile of a file whose title is not known yet: it is read meanwhile, and judged again once it is."""

AS_CHOSEN = "As chosen at the desk."
NO_FILE = "No file was chosen. Choose one PDF or several, and send them again."
NAMELESS = "A file that is gone"


@dataclass(frozen=True)
class ArrivalCard:
    """One file of a delivery: refused, with its title, or waiting to be told which title it is."""

    place: int
    id: str
    file_name: str
    refusal: str
    title: TitleCard | None
    number: int | None
    how: str
    card: Card | None
    reading: bool
    chosen: str
    why: str

    @property
    def asked(self) -> bool:
        """Whether its title is still to be told."""
        return self.card is not None and self.title is None


@blueprint.get("/take-in")
def take_in() -> ResponseReturnValue:
    """The form, and what has come in without a title."""
    return _form()


@blueprint.post("/take-in")
def send_many() -> ResponseReturnValue:
    """Take the files in; then lead to what became of each."""
    brought: dict[str, str] = {}

    def guard() -> None:
        guard_form(brought.get(FIELD, ""))

    try:
        with receive_many(request, store(), settings().limits.bytes, brought, guard) as files:
            guard()
            if not files:
                return _refused(NO_FILE, 422)
            in_hand = store().titles.in_hand(owner())
            delivery_id = store().arrivals.note(owner(), [_taken(file, in_hand) for file in files])
    except Problem as problem:
        return _refused(problem.detail, problem.kind.status)
    where = url_for("web.delivery", delivery_id=delivery_id)
    return (jsonify(location=where), 201) if by_script() else redirect(where, 303)


@blueprint.get("/take-in/<delivery_id>")
def delivery(delivery_id: str) -> ResponseReturnValue:
    """What became of each file of a delivery; the page's own script asks whether any is still being read."""
    arrived = _own_delivery(delivery_id)
    if by_script():
        return jsonify(reading=any(_is_read(each) for each in arrived))
    return _delivery_page(arrived)


@blueprint.post("/take-in/<delivery_id>")
def place(delivery_id: str) -> ResponseReturnValue:
    """Put the files with the titles that were chosen; those that none was chosen for go on waiting."""
    arrived = _own_delivery(delivery_id)
    in_hand = {title.id: title for title in store().titles.in_hand(owner())}
    problems: dict[int, str] = {}
    for each in arrived:
        chosen = request.form.get(f"title-{each.place}", "")
        if each.title_id is not None or not chosen:
            continue
        try:
            if chosen not in in_hand:
                raise no_such_title()
            _put(each, in_hand[chosen])
        except Problem as problem:
            problems[each.place] = problem.detail
    if problems:
        return _delivery_page(_own_delivery(delivery_id), problems, 409)
    return redirect(url_for("web.delivery", delivery_id=delivery_id), 303)


def own_arrival(arrival_id: str) -> Arrival | None:
    """The visitor's arrival of that id."""
    return store().arrivals.get(arrival_id, owner()) if is_id("arr", arrival_id) else None


def place_arrival(arrival_id: str, title: Title) -> ResponseReturnValue:
    """Put one file with the title that was made from it, and lead back to its delivery."""
    arrival = own_arrival(arrival_id)
    if arrival is None:
        return redirect(url_for("web.title", title_id=title.id), 303)
    try:
        _put(arrival, title, "The title was made from it.")
    except Problem as problem:
        return _delivery_page(_own_delivery(arrival.delivery), {arrival.place: problem.detail}, problem.kind.status)
    return redirect(url_for("web.delivery", delivery_id=arrival.delivery), 303)


def _taken(file: Arrived | Problem, in_hand: Sequence[Title]) -> NewArrival:
    """What becomes of one file. Nothing that is wrong with it is in the way of the others."""
    if isinstance(file, Problem):
        return NewArrival(str(file.more.get("name", "")), refusal=file.detail)
    name = file_name_of(file.file_name)
    sure = match_by_number(name, in_hand)
    try:
        if sure.title is not None:
            made = submit(store(), file, sure.title, by=acts_as() or None)
            return NewArrival(name, None, made.inspection_id, made.title_id, made.number, sure.why)
        row = admit(store(), file, Wish(profile_named(READ_BY, owner())), owner())
        return NewArrival(name, inspection_id=row.id)
    except Problem as problem:
        return NewArrival(name, refusal=problem.detail)


def _put(arrival: Arrival, title: Title, how: str | None = None) -> None:
    """Raises :class:`Problem`; the file then goes on waiting."""
    claimed = store().arrivals.claim(arrival.id, owner(), title.id)
    kept = store().rows.get(claimed.inspection_id or "", owner()) if claimed is not None else None
    if claimed is None:
        return  # somebody else has just done it, and the page shows so
    try:
        if kept is None:
            raise Problem(NO_SUCH_INSPECTION, "This file has been deleted, or its days are over. Take it in again.")
        how = how or _known_by(kept, title)
        made = submit_kept(store(), kept, title, by=acts_as() or None)
    except BaseException:
        store().arrivals.let_go(arrival.id)
        raise
    store().arrivals.settle(arrival.id, inspection_id=made.inspection_id, number=made.number, how=how)


def _known_by(row: Inspection, title: Title) -> str:
    """By what a file is known to be of this title."""
    found = _match(row, store().titles.in_hand(owner()))
    return found.why if found.title is not None and found.title.id == title.id else AS_CHOSEN


def _own_delivery(delivery_id: str) -> list[Arrival]:
    found = store().arrivals.of_delivery(delivery_id, owner()) if is_id("del", delivery_id) else []
    if not found:
        raise Problem(
            NOT_FOUND,
            "No delivery of yours has this address: it may not be whole, or its days are over. The titles show every "
            "file that came for them.",
        )
    return found


def _delivery_page(
    arrived: Sequence[Arrival], problems: dict[int, str] | None = None, status: int = 200
) -> ResponseReturnValue:
    in_hand = store().titles.in_hand(owner())
    cards = [_card(each, in_hand) for each in arrived]
    page = render_template(
        "web/desk/delivery.html",
        delivery_id=arrived[0].delivery,
        received_at=arrived[0].received_at,
        cards=cards,
        titles=[title_card(title) for title in in_hand],
        problems=problems or {},
        reading=any(card.reading for card in cards),
        typed=request.form,
    )
    return make_response(page, status)


def _card(arrival: Arrival, in_hand: Sequence[Title]) -> ArrivalCard:
    row = store().rows.get(arrival.inspection_id, owner()) if arrival.inspection_id else None
    title = store().titles.get(arrival.title_id, owner()) if arrival.title_id else None
    found = _match(row, in_hand) if row is not None and title is None else Match(None, "")
    refusal = arrival.refusal or ("" if row or title else "It has been deleted, or its days are over.")
    return ArrivalCard(
        place=arrival.place,
        id=arrival.id,
        file_name=shown(arrival.file_name) or NAMELESS,
        refusal=shown(refusal),
        title=title_card(title) if title is not None else None,
        number=arrival.number,
        how=arrival.how or "",
        card=card_of(row) if row is not None else None,
        reading=row is not None and not row.finished,
        chosen=found.title.id if found.title is not None else "",
        why=shown(found.why),
    )


def _is_read(arrival: Arrival) -> bool:
    """Whether a file is being read just now."""
    row = store().rows.get(arrival.inspection_id, owner()) if arrival.inspection_id is not None else None
    return row is not None and not row.finished


def _match(row: Inspection, in_hand: Sequence[Title]) -> Match:
    found = match(clues_of(row.file_name, row.title, report_of(row)), in_hand)
    if found.title is None and not row.finished:
        return Match(None, "It is being read; what it says of itself is known in a moment.")
    return found


def _refused(problem: str, status: int) -> ResponseReturnValue:
    return (jsonify(problem=problem), status) if by_script() else _form(problem, status)


def _form(problem: str = "", status: int = 200) -> ResponseReturnValue:
    page = render_template(
        "web/desk/take_in.html",
        problem=problem,
        waiting=[(each, shown(each.file_name)) for each in store().arrivals.without_title(owner())],
        most_files=MOST_FILES,
        most_bytes=settings().limits.bytes,
        most_size=show_size(settings().limits.bytes),
    )
    return make_response(page, status)
