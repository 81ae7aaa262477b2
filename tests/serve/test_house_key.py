"""The key of the house: made once, for the service alone, and shared by all who sign with it."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from worker.house_key import KEY_SETTING, LEAST_KEY, house_key
from worker.settings import SettingsError


@pytest.fixture(autouse=True)
def no_key_given(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(KEY_SETTING, raising=False)


def test_the_key_is_made_once_and_stays(tmp_path: Path) -> None:
    key = house_key(tmp_path)
    assert len(key) >= LEAST_KEY
    assert house_key(tmp_path) == key
    assert house_key(tmp_path / "elsewhere") != key


def test_nobody_but_the_service_can_read_it(tmp_path: Path) -> None:
    house_key(tmp_path / "data")
    (kept,) = (tmp_path / "data").iterdir()
    assert kept.stat().st_mode & 0o077 == 0


def test_those_who_come_at_once_agree_on_it(tmp_path: Path) -> None:
    with ThreadPoolExecutor(16) as pool:
        keys = set(pool.map(house_key, [tmp_path] * 64))
    assert len(keys) == 1
    assert [file.name for file in tmp_path.iterdir()] == ["session.key"]


def test_a_given_key_goes_before_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(KEY_SETTING, "k" * LEAST_KEY)
    assert house_key(tmp_path) == "k" * LEAST_KEY
    assert list(tmp_path.iterdir()) == []


def test_a_given_key_that_could_be_guessed_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(KEY_SETTING, "k" * (LEAST_KEY - 1))
    with pytest.raises(SettingsError, match=KEY_SETTING):
        house_key(tmp_path)
