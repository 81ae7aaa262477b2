"""A service in which every page can be looked at, in every state: a press with everything, and a newcomer with nothing.

The rows are real; nobody works on them, so each stays as it was made.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.api.test_own_profiles import MOLE
from tests.desk import desk
from tests.web import rows
from worker.profiles import parse_profile_toml
from worker.store import Failure, Member, NewArrival, NewProfile, Store

LONG = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft" * 2


@dataclass(frozen=True)
class Sent:
    """A form that is sent as it stands, but for what is typed: on which page, where it goes, and what is typed.

    It leads to a page that has no address of its own: a refusal, or something that is shown once.
    """

    place: str
    form: str
    typed: dict[str, str]


def pages_of_everything(store: Store, member: Member) -> list[str]:
    """The pages that have an address, once the member has one of everything."""
    return [
        "/", f"/?against={rows.done(store, owner=member.id).id}", "/sign-in", "/nothing", "/standing",
        "/problems/profile-not-sound",
        *_inspections(store, member), *_titles(store, member), *_house(store, member),
    ]  # fmt: skip


NOTHING_YET = (
    "/inspections",
    "/inspections?verdict=pressworthy",
    "/titles",
    "/titles?about=nobody",
    "/take-in",
    "/tokens",
)
"""The lists of a newcomer."""


def forms(store: Store, member: Member) -> list[Sent]:
    """Forms that are refused, and forms that show something once."""
    done, title = rows.done(store, owner=member.id), desk.title(store, owner=member.id)
    inspection, book = f"/inspections/{done.id}", f"/titles/{title.id}"
    token = store.tokens.make("a program", member.id)[0]
    return [
        Sent("/", "/inspections", {"profile": "ternhaven-mono", "callback_url": "http://127.0.0.1/"}),
        Sent("/take-in", "/take-in", {}),
        Sent("/titles/new", "/titles", {"isbn": "9780000000018"}),
        Sent(book, "/standing", {}),
        Sent(book, "/submissions", {}),
        Sent(book, "/links", {}),
        Sent(inspection, "/judgements", {"pages": "many"}),
        Sent(inspection, "/shares", {"days": "0"}),
        Sent(inspection, "/shares", {"days": "2"}),
        Sent("/tokens", "/tokens", {}),
        Sent("/tokens", "/tokens", {"name": LONG[:90]}),
        Sent("/tokens", f"/{token.id}/callback-secret", {}),
        Sent("/members", "/members", {}),
        Sent("/printers/new", "/printers", {"text": "units = 1"}),
    ]


def _inspections(store: Store, member: Member) -> list[str]:
    done = rows.done(store, LONG, owner=member.id, file_name=f"{LONG}.pdf")
    link = store.shares.make(done, days=3)[1]
    running = rows.measuring(store, 3, 9, owner=member.id)
    failed = rows.measuring(store, 1, 2, owner=member.id)
    store.rows.fail(failed, Failure("limit", "page 2 is too much", "Split the book.", 2))
    called = rows.called(store, owner=member.id)
    stopped = rows.queued(store, owner=member.id)
    store.rows.cancel(stopped.id)
    each = (done, running, failed, called, stopped, rows.queued(store, LONG, owner=member.id))
    return [
        "/inspections", "/inspections?title=nobody", "/inspections/ins_none", f"/inspections/{done.id}/deletion",
        *(f"/inspections/{row.id}" for row in each), f"/inspections/{done.id}/pages/4.png", f"/shared/{link}",
        "/shared/nothing",
    ]  # fmt: skip


def _titles(store: Store, member: Member) -> list[str]:
    me = member.id
    waits = desk.title(store, LONG, LONG, owner=me)
    measured = desk.title(store, "Nine Winters", "Abel Marchmont", owner=me)
    desk.submitted(store, measured, rows.measuring(store, 3, 9, owner=me))
    looked_at = desk.title(store, owner=me, isbn=desk.ISBN, trim="6 × 9 in", expected_pages=312)
    store.titles.change(looked_at.id, me, {"note": f"Ask for the rights\n{LONG}"})
    first = desk.inspected(store, looked_at, verdict="reservations")
    store.titles.pass_for_press(looked_at.id, me, sha256=first.sha256, by="Orla Fenwick")
    link, secret = store.author_links.make(looked_at.id, me, days=30)
    desk.inspected(store, looked_at, link_id=link.id)
    desk.submitted(store, looked_at, rows.measuring(store, 3, 9, owner=me), link_id=link.id)
    desk.inspected(store, looked_at)
    store.titles.stand(looked_at.id, me, "to-be-looked-at")
    store.author_links.withdraw(store.author_links.make(looked_at.id, me, days=30)[0].id, looked_at.id)
    passed = desk.title(store, "Kelp", "Ines Carrow", owner=me)
    store.titles.pass_for_press(passed.id, me, sha256=desk.inspected(store, passed).sha256, by="Orla Fenwick")
    withdrawn = desk.title(store, "Small Harbours", "Wilf Ansty", owner=me)
    store.titles.stand(withdrawn.id, me, "withdrawn")
    arrived = [
        NewArrival("notes.docx", refusal="The file is not a PDF."),
        NewArrival(f"{LONG}.pdf", inspection_id=rows.queued(store, None, owner=me, file_name="scan.pdf").id),
        NewArrival("kelp.pdf", inspection_id=rows.done(store, "Kelp", owner=me, file_name="kelp.pdf").id),
        NewArrival("salt.pdf", None, first.inspection_id, looked_at.id, 1, "By the file’s name."),
    ]
    delivery = store.arrivals.note(me, arrived)
    books = [f"/titles/{title.id}" for title in (waits, measured, looked_at, passed, withdrawn)]
    author = f"/author/{secret}"
    return [
        "/titles", "/titles?about=nobody", "/titles/new", "/take-in", f"/take-in/{delivery}", "/take-in/nothing",
        *books, f"{books[2]}/change", f"{books[2]}/deletion", f"{books[2]}/submissions/1/letter", "/titles/nothing",
        author, f"{author}/files/2", f"{author}/files/3", "/author/nothing",
    ]  # fmt: skip


def _house(store: Store, member: Member) -> list[str]:
    other = store.members.make(f"A member with a long name {LONG}"[:90])
    store.members.end(store.members.make("One who left").id)
    store.tokens.make(f"A token with a long name {LONG}"[:90], other.id, days=30)
    store.tokens.revoke(store.tokens.make("lost", member.id)[0].id, member.id)
    profile = parse_profile_toml(MOLE)
    new = NewProfile(member.id, profile.id, None, MOLE, profile.model_dump_json())
    store.profiles.put(new, most=9, agreed=lambda _: None)
    own = f"/printers/{profile.id}"
    return [
        "/tokens", "/members", f"/members/{other.id}", f"/members/{other.id}/ending", "/printers", "/printers/new",
        own, f"{own}/deletion", "/printers/ternhaven-mono", "/printers/nothing",
    ]  # fmt: skip
