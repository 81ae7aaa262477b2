"""Access tokens: shown once, kept as a hash, revocable."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from pathlib import Path

import pytest

from worker.store import LOCAL, Ambiguous, NameTaken, Store


def test_a_token_is_found_by_its_secret_alone(store: Store) -> None:
    mill, secret = store.tokens.make("the mill")
    store.tokens.make("the pump house")
    found = store.tokens.find(secret)
    assert found is not None
    assert found.token.id == mill.id
    assert (found.member.id, found.member.name) == (mill.member, "the mill")
    for wrong in ("", secret[:-1], secret + "x", secret.swapcase(), mill.hash, mill.id, "é"):
        assert store.tokens.find(wrong) is None


def test_the_secret_is_kept_nowhere(store: Store, tmp_path: Path) -> None:
    token, secret = store.tokens.make("the mill")
    assert token.hash == hashlib.sha256(secret.encode()).hexdigest()
    assert len(secret) >= 43  # 256 bits in base64 (RFC 4648)
    for path in tmp_path.rglob("*"):
        assert not path.is_file() or secret.encode() not in path.read_bytes()


def test_a_revoked_token_is_none(store: Store) -> None:
    _, secret = store.tokens.make("the mill")
    assert store.tokens.any_active()
    assert store.tokens.revoke("the mill")
    assert not store.tokens.revoke("the mill")
    assert store.tokens.find(secret) is None
    assert not store.tokens.any_active()
    assert [token.revoked_at is not None for token in store.tokens.all()] == [True]


def test_a_name_is_free_again_once_revoked(store: Store) -> None:
    first, _ = store.tokens.make("the mill")
    with pytest.raises(NameTaken, match="the mill"):
        store.tokens.make("the mill")
    assert store.tokens.revoke(first.id)
    second, _ = store.tokens.make("the mill")
    assert second.id != first.id
    assert [(token.name, token.member) for token in store.tokens.all()] == [("the mill", first.member)] * 2


def test_its_last_use_is_noted(store: Store) -> None:
    _, secret = store.tokens.make("the mill")
    assert store.tokens.all()[0].last_used_at is None
    store.tokens.find(secret)
    assert store.tokens.all()[0].last_used_at is not None


def test_tokens_of_several_members_may_share_a_name(store: Store) -> None:
    mill, pump = store.members.make("the mill"), store.members.make("the pump house")
    (one, one_secret), (other, _) = store.tokens.make("laptop", mill.id), store.tokens.make("laptop", pump.id)
    found = store.tokens.find(one_secret)
    assert found is not None
    assert (found.token.id, found.member.id) == (one.id, mill.id)
    with pytest.raises(Ambiguous, match=other.id):
        store.tokens.revoke("laptop")
    assert store.tokens.revoke("laptop", pump.id)
    assert not store.tokens.revoke(one.id, pump.id)  # another member's
    assert store.tokens.find(one_secret) is not None
    assert [token.id for token in store.tokens.of(mill.id)] == [one.id]


def test_it_has_the_scopes_that_it_was_given(store: Store) -> None:
    _, reader = store.tokens.make("reader", scopes=["read"])
    _, whole = store.tokens.make("whole")
    found = [store.tokens.find(secret) for secret in (reader, whole)]
    assert [bearer.token.scopes for bearer in found if bearer] == [{"read"}, {"read", "submit", "manage"}]


def test_it_ends_by_itself(store: Store) -> None:
    token, secret = store.tokens.make("for a month", days=30)
    assert token.expires_at is not None
    assert token.expires_at - token.created_at == timedelta(days=30)
    assert store.tokens.find(secret) is not None
    ended, ended_secret = store.tokens.make("for no time", days=0)
    assert store.tokens.find(ended_secret) is None
    assert store.tokens.in_force(ended.id) is None
    store.tokens.make("for no time")  # its name is free again


def test_the_end_of_a_membership_ends_its_tokens(store: Store) -> None:
    mill = store.members.make("the mill")
    token, secret = store.tokens.make("laptop", mill.id)
    assert store.members.end("the mill")
    assert not store.members.end("the mill")
    assert store.tokens.find(secret) is None
    assert store.tokens.in_force(token.id) is None
    assert store.members.named("the mill") is None
    with pytest.raises(NameTaken):  # whoever comes under this name must not see what another left
        store.members.make("the mill")
    with pytest.raises(NameTaken):
        store.tokens.make("the mill")


def test_a_member_belongs_to_a_circle(store: Store) -> None:
    press = store.members.make("the press", circle="press", operator=True)
    assert store.members.circle_of(press.id) == "press"
    assert store.members.circle_of(LOCAL) == store.members.circle_of(store.members.make("one").id) == "house"
    assert [(member.name, member.operator) for member in store.members.all()] == [("the press", True), ("one", False)]
