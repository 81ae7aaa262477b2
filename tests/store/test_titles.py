"""Titles, submissions, authors' links and deliveries, in SQLite and in PostgreSQL.

What may happen at once is held against the rule that both databases give: of several that change one row, one is first.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import update

from tests.store.conftest import new
from worker.store import (
    AnotherFile,
    BadCursor,
    Finished,
    LinkSpent,
    NewArrival,
    NewSubmission,
    NewTitle,
    NoTitle,
    Store,
    Submission,
    Title,
    Withdrawn,
    new_inspection_id,
)
from worker.store.models import now
from worker.store.title_models import AuthorLink

WHEN = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def _title(store: Store, name: str = "The Salt Road", owner: str = "local", **more: Any) -> Title:
    return store.titles.create(owner, NewTitle(more.pop("author", "Maud Kittering"), name, "ternhaven-mono", **more))


def _submit(store: Store, title: Title, sha256: str = "ab" * 32, **more: Any) -> Submission:
    made = NewSubmission(more.pop("inspection_id", new_inspection_id()), sha256, "salt-road.pdf", 1000, **more)
    return store.titles.submit(title.id, title.owner, made)


def _now(store: Store, title: Title) -> Title:
    found = store.titles.get(title.id, title.owner)
    assert found is not None
    return found


def test_a_title_waits_then_has_files_in_order_then_is_passed(store: Store) -> None:
    title = _title(store)
    assert (title.standing, title.submissions) == ("waiting-for-author", 0)
    assert [_submit(store, title, f"{digit}" * 64).number for digit in "abc"] == [1, 2, 3]
    assert _now(store, title).standing == "to-be-looked-at"
    with pytest.raises(AnotherFile):
        store.titles.pass_for_press(title.id, "local", sha256="b" * 64, by="Orla Fenwick")
    passed = store.titles.pass_for_press(title.id, "local", sha256="c" * 64, by="Orla Fenwick")
    assert passed.standing == "passed"
    last = store.titles.submissions(title.id)[-1][0]
    assert (last.number, last.passed_by, last.passed_at) == (3, "Orla Fenwick", passed.touched_at)


def test_another_file_ends_a_pass_and_the_same_bytes_do_not(store: Store) -> None:
    title = _title(store)
    _submit(store, title, "a" * 64)
    store.titles.pass_for_press(title.id, "local", sha256="a" * 64, by="Orla Fenwick")
    again = _submit(store, title, "a" * 64)
    assert (again.number, again.passed_by, _now(store, title).standing) == (2, "Orla Fenwick", "passed")
    other = _submit(store, title, "b" * 64)
    assert (other.passed_at, _now(store, title).standing) == (None, "to-be-looked-at")
    assert [it.passed_by for it, _ in store.titles.submissions(title.id)] == ["Orla Fenwick", "Orla Fenwick", None]


def test_a_second_pass_of_the_same_file_is_the_first(store: Store) -> None:
    title = _title(store)
    _submit(store, title, "a" * 64)
    first = store.titles.pass_for_press(title.id, "local", sha256="a" * 64, by="Orla Fenwick")
    second = store.titles.pass_for_press(title.id, "local", sha256="a" * 64, by="Somebody Else")
    assert second.touched_at == first.touched_at
    assert store.titles.submissions(title.id)[-1][0].passed_by == "Orla Fenwick"


def test_a_withdrawn_title_takes_nothing_until_it_is_taken_up_again(store: Store) -> None:
    title = _title(store)
    _submit(store, title)
    _, secret = store.author_links.make(title.id, "local", days=1)
    store.titles.stand(title.id, "local", "withdrawn")
    with pytest.raises(Withdrawn):
        _submit(store, title)
    with pytest.raises(Withdrawn):
        store.titles.pass_for_press(title.id, "local", sha256="ab" * 32, by=None)
    with pytest.raises(Withdrawn):
        store.author_links.make(title.id, "local", days=1)
    assert store.author_links.find(secret) is None
    assert store.titles.in_hand("local") == []
    assert store.titles.stand(title.id, "local", "to-be-looked-at").standing == "to-be-looked-at"
    assert store.author_links.find(secret) is not None


def test_a_title_without_a_file_can_only_wait(store: Store) -> None:
    title = _title(store)
    assert store.titles.stand(title.id, "local", "to-be-looked-at").standing == "waiting-for-author"


def test_looking_again_takes_a_pass_back(store: Store) -> None:
    title = _title(store)
    _submit(store, title)
    store.titles.pass_for_press(title.id, "local", sha256="ab" * 32, by="Orla Fenwick")
    store.titles.stand(title.id, "local", "to-be-looked-at")
    assert store.titles.submissions(title.id)[0][0].passed_at is None


def test_another_owners_title_is_none_at_all(store: Store) -> None:
    title = _title(store)
    calls: list[Callable[[str], object]] = [
        lambda owner: store.titles.change(title.id, owner, {"note": "x"}),
        lambda owner: store.titles.submit(title.id, owner, NewSubmission(new_inspection_id(), "a" * 64, "x.pdf", 1)),
        lambda owner: store.titles.pass_for_press(title.id, owner, sha256="a" * 64, by=None),
        lambda owner: store.titles.stand(title.id, owner, "withdrawn"),
        lambda owner: store.author_links.make(title.id, owner, days=1),
    ]
    for call in calls:
        with pytest.raises(NoTitle):
            call("another")
    assert store.titles.get(title.id, "another") is None
    assert store.titles.page("another").items == []
    assert store.titles.in_hand("another") == []
    assert store.titles.counts("another") == {}
    assert _now(store, title).touched_at == title.touched_at


def test_titles_are_found_by_each_member(store: Store) -> None:
    salt = _title(store, "The Salt Road", author="Émile Kittering", isbn="9780000000019")
    kelp = _title(store, "Kelp: 100 % of it", author="Ines Carrow", isbn="9780000000064")

    def found(**asked: Any) -> list[str]:
        return [listed.title.id for listed in store.titles.page("local", **asked).items]

    assert found() == [kelp.id, salt.id]
    assert found(author="EMILE") == found(author="émile") == found(title="salt road") == [salt.id]
    assert found(isbn="97800000000") == [kelp.id, salt.id]
    assert found(isbn="9780000000064") == found(about="978-0-00-000006-4") == found(about="carrow") == [kelp.id]
    assert found(title="100 %") == [kelp.id]
    assert found(title="%") == [kelp.id]
    assert found(title="_") == found(about="nobody") == []
    assert found(about="kitter", title="kelp") == []


def test_titles_are_found_by_where_they_stand_and_by_the_last_verdict(store: Store) -> None:
    title, other = _title(store), _title(store, "Kelp")
    for verdict in ("not-pressworthy", "pressworthy"):
        row = store.rows.create_done(new(), Finished(verdict, "test", WHEN, 12))
        _submit(store, title, inspection_id=row.id)

    def found(**asked: Any) -> list[str]:
        return [listed.title.id for listed in store.titles.page("local", **asked).items]

    assert found(standing="to-be-looked-at") == found(verdict="pressworthy") == [title.id]
    assert found(standing="waiting-for-author") == [other.id]
    assert found(verdict="not-pressworthy") == []
    assert store.titles.counts("local") == {"to-be-looked-at": 1, "waiting-for-author": 1}


def test_a_list_has_every_title_once(store: Store) -> None:
    made = [_title(store, f"Title {number}").id for number in range(7)]
    assert _all(store) == made[::-1]
    with pytest.raises(BadCursor):
        store.titles.page("local", after="nonsense")


def test_what_has_to_be_done_comes_first(store: Store) -> None:
    waiting, looked_at, passed, withdrawn, also_waiting = (_title(store, f"Title {number}") for number in range(5))
    _submit(store, looked_at)
    sha256 = _submit(store, passed).sha256
    store.titles.pass_for_press(passed.id, "local", sha256=sha256, by=None)
    store.titles.stand(withdrawn.id, "local", "withdrawn")
    in_order = [title.id for title in (looked_at, also_waiting, waiting, passed, withdrawn)]
    assert _all(store, size=1, to_do_first=True) == _all(store, to_do_first=True) == in_order
    of_another_order = store.titles.page("local", size=3).next
    with pytest.raises(BadCursor):
        store.titles.page("local", after=of_another_order, to_do_first=True)


def _all(store: Store, *, size: int = 3, to_do_first: bool = False) -> list[str]:
    """The ids of every title, part after part."""
    met: list[str] = []
    after: str | None = None
    while True:
        page = store.titles.page("local", size=size, after=after, to_do_first=to_do_first)
        met += [listed.title.id for listed in page.items]
        after = page.next
        if after is None:
            return met


def test_a_verdict_outlives_its_inspection(store: Store) -> None:
    title = _title(store)
    row = store.rows.create_done(new(), Finished("reservations", "test", WHEN, 12))
    _submit(store, title, inspection_id=row.id)
    assert store.delete(row.id)
    ((submission, inspection),) = store.titles.submissions(title.id)
    assert (submission.verdict, submission.pages, inspection) == ("reservations", 12, None)
    (listed,) = store.titles.page("local", verdict="reservations").items
    assert listed.verdict == "reservations"


def test_many_files_at_once_are_numbered_one_by_one(store: Store) -> None:
    title = _title(store)
    with ThreadPoolExecutor(8) as pool:
        made = list(pool.map(lambda _: _submit(store, title).number, range(16)))
    assert sorted(made) == list(range(1, 17))
    assert _now(store, title).submissions == 16


def test_a_link_takes_no_more_a_day_than_it_may_even_at_once(store: Store) -> None:
    title = _title(store)
    link, _ = store.author_links.make(title.id, "local", days=30)

    def send(_: int) -> bool:
        try:
            _submit(store, title, link_id=link.id, most_a_day=3)
        except LinkSpent:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(send, range(12))) == 3
    assert store.titles.came_today(link.id) == 3
    other, _ = store.author_links.make(title.id, "local", days=30)
    assert _submit(store, title, link_id=other.id, most_a_day=3).number == 4


def test_a_link_is_found_by_its_secret_until_it_ends(store: Store) -> None:
    title = _title(store)
    link, secret = store.author_links.make(title.id, "local", days=30)
    assert len(secret) >= 43  # 256 bits, six to a sign (RFC 4648, section 5)
    found = store.author_links.find(secret)
    assert found is not None
    assert (found[0].id, found[1].id) == (link.id, title.id)
    for wrong in ("", secret[:-1], secret + "x", secret.swapcase(), link.hash, link.id, "\x00" * 43):
        assert store.author_links.find(wrong) is None
    assert secret not in str(vars(link))
    assert not store.author_links.withdraw(link.id, _title(store, "Kelp").id)
    assert store.author_links.withdraw(link.id, title.id)
    assert store.author_links.find(secret) is None
    assert not store.author_links.withdraw(link.id, title.id)
    with pytest.raises(LinkSpent):
        _submit(store, title, link_id=link.id, most_a_day=3)


def test_a_link_ends_with_its_days(store: Store) -> None:
    title = _title(store)
    link, secret = store.author_links.make(title.id, "local", days=30)
    past = update(AuthorLink).where(AuthorLink.id == link.id).values(expires_at=now() - timedelta(seconds=1))
    with store._database.write() as session:
        session.execute(past)
    assert store.author_links.find(secret) is None
    assert not store.author_links.withdraw(link.id, title.id)


def test_an_arrival_goes_to_one_title_however_many_ask(store: Store) -> None:
    row = store.rows.create(new())
    delivery = store.arrivals.note("local", [NewArrival("a.pdf", inspection_id=row.id), NewArrival("b", refusal="No.")])
    kept, refused = store.arrivals.of_delivery(delivery, "local")
    assert (kept.place, refused.place, refused.refusal) == (1, 2, "No.")
    assert [it.id for it in store.arrivals.without_title("local")] == [kept.id]
    titles = [_title(store, f"Title {number}").id for number in range(6)]
    with ThreadPoolExecutor(6) as pool:
        claimed = list(pool.map(lambda to: store.arrivals.claim(kept.id, "local", to), titles))
    assert sum(it is not None for it in claimed) == 1
    assert store.arrivals.claim(refused.id, "local", titles[0]) is None
    store.arrivals.let_go(kept.id)
    assert store.arrivals.claim(kept.id, "another", titles[0]) is None
    assert store.arrivals.claim(kept.id, "local", titles[0]) is not None
    store.arrivals.settle(kept.id, inspection_id=row.id, number=1, how="By its name.")
    store.arrivals.let_go(kept.id)  # what is settled stays
    assert store.arrivals.without_title("local") == []
    assert store.arrivals.of_delivery(delivery, "another") == []


def test_deliveries_are_forgotten_in_time(store: Store) -> None:
    delivery = store.arrivals.note("local", [NewArrival("b", refusal="No.")])
    store.arrivals.forget(before=now() - timedelta(days=1))
    assert store.arrivals.of_delivery(delivery, "local") != []
    store.arrivals.forget(before=now() + timedelta(seconds=1))
    assert store.arrivals.of_delivery(delivery, "local") == []


def test_members_are_changed_and_found_anew(store: Store) -> None:
    title = _title(store)
    changed = NewTitle("Ines Carrow", "Kelp", "ropewalk-offset", note="Two\nlines")
    store.titles.change(title.id, "local", asdict(changed))
    (listed,) = store.titles.page("local", author="carrow", title="kelp").items
    assert (listed.title.profile_id, listed.title.note) == ("ropewalk-offset", "Two\nlines")


def test_a_title_goes_with_its_files_and_links_and_no_others(store: Store) -> None:
    title, other = _title(store, isbn="9780000000019"), _title(store, "Kelp")
    row = store.rows.create(new())
    _submit(store, title, inspection_id=row.id)
    kept = _submit(store, other)
    _, secret = store.author_links.make(title.id, "local", days=1)
    assert [it.id for it in store.titles.with_isbn("local", "9780000000019")] == [title.id]
    found = store.titles.of_inspection(row.id, "local")
    assert (found and found.id, store.titles.of_inspection(row.id, "another")) == (title.id, None)
    assert not store.delete_title(title.id, "another")
    assert store.delete_title(title.id, "local")
    assert not store.delete_title(title.id, "local")
    assert (store.titles.get(title.id, "local"), store.rows.get(row.id), store.author_links.find(secret)) == (None,) * 3
    assert [it.id for it, _ in store.titles.submissions(other.id)] == [kept.id]
