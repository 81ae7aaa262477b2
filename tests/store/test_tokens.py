"""Access tokens: shown once, kept as a hash, revocable."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from worker.store import NameTaken, Store


def test_a_token_is_found_by_its_secret_alone(store: Store) -> None:
    mill, secret = store.tokens.make("the mill")
    store.tokens.make("the pump house")
    found = store.tokens.find(secret)
    assert found is not None
    assert found.id == mill.id
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
    assert [token.name for token in store.tokens.all()] == ["the mill"] * 2


def test_its_last_use_is_noted(store: Store) -> None:
    _, secret = store.tokens.make("the mill")
    assert store.tokens.all()[0].last_used_at is None
    store.tokens.find(secret)
    assert store.tokens.all()[0].last_used_at is not None
