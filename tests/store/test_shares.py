"""Share links: of the secret only its SHA-256 (FIPS 180-4, by hashlib) is kept; it carries 256 bits (RFC 4648 text)."""

from __future__ import annotations

import hashlib
from datetime import timedelta

import pytest
from sqlalchemy import select

from tests.store.conftest import new
from worker.store import Inspection, Share, Store, TooManyShares
from worker.store.models import now
from worker.store.rows import DaysKept
from worker.store.shares import MOST_SHARES


@pytest.fixture
def row(store: Store) -> Inspection:
    return store.rows.create(new())


def _found(store: Store, secret: str) -> str | None:
    found = store.shares.find(secret)
    return found.id if found else None


def test_a_link_leads_to_its_inspection_alone(store: Store, row: Inspection) -> None:
    other = store.rows.create(new())
    share, secret = store.shares.make(row, days=7)
    assert _found(store, secret) == row.id
    assert store.shares.of(other.id) == []
    assert [each.id for each in store.shares.of(row.id)] == [share.id]
    assert abs(share.expires_at - now() - timedelta(days=7)) < timedelta(minutes=1)


def test_of_the_secret_only_a_hash_is_kept(store: Store, row: Inspection) -> None:
    share, secret = store.shares.make(row, days=7)
    assert len(secret) >= 43  # 256 bits in base64url (RFC 4648, section 5) are 43 characters
    with store._database.read() as session:
        (kept,) = session.scalars(select(Share))
    assert kept.hash == hashlib.sha256(secret.encode()).hexdigest()
    assert secret not in repr(vars(kept))
    assert secret not in repr(vars(share))


@pytest.mark.parametrize("wrong", ["", "x", "A" * 43, "é" * 5000, "\0"])
def test_a_wrong_secret_leads_nowhere(store: Store, row: Inspection, wrong: str) -> None:
    store.shares.make(row, days=7)
    assert store.shares.find(wrong) is None


def test_a_withdrawn_link_leads_nowhere(store: Store, row: Inspection) -> None:
    (share, secret), (_, stays) = store.shares.make(row, days=7), store.shares.make(row, days=7)
    other = store.rows.create(new())
    assert not store.shares.withdraw(share.id, other.id)
    assert store.shares.withdraw(share.id, row.id)
    assert not store.shares.withdraw(share.id, row.id)
    assert (_found(store, secret), _found(store, stays)) == (None, row.id)


def test_a_link_ends_on_its_day_and_is_forgotten(store: Store, row: Inspection) -> None:
    share, secret = store.shares.make(row, days=-1)
    assert store.shares.find(secret) is None
    assert store.shares.of(row.id) == []
    assert not store.shares.withdraw(share.id, row.id)
    store.shares.make(row, days=1)
    store.shares.delete_expired()
    with store._database.read() as session:
        assert len(list(session.scalars(select(Share)))) == 1


def test_a_link_does_not_outlast_the_inspection(store: Store, row: Inspection) -> None:
    share, _ = store.shares.make(row, days=1000)
    assert share.expires_at == row.expires_at
    store.rows._kept = DaysKept(*[timedelta(seconds=-1)] * 3)
    over = store.rows.create(new())
    _, secret = store.shares.make(over, days=7)
    assert store.shares.find(secret) is None


def test_deleting_an_inspection_ends_its_links(store: Store, row: Inspection) -> None:
    _, secret = store.shares.make(row, days=7)
    store.delete(row.id)
    assert store.shares.find(secret) is None
    with store._database.read() as session:
        assert list(session.scalars(select(Share))) == []


def test_there_are_only_so_many(store: Store, row: Inspection) -> None:
    made = [store.shares.make(row, days=7)[0] for _ in range(MOST_SHARES)]
    with pytest.raises(TooManyShares):
        store.shares.make(row, days=7)
    store.shares.withdraw(made[0].id, row.id)
    store.shares.make(row, days=7)
