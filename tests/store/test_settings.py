"""Settings: every limit has a default, and a wrong value is refused by name."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from worker import limits as limits_module
from worker import settings as settings_module
from worker.limits import Limits, SettingsError, show_bytes
from worker.settings import Settings


def test_a_data_folder_is_enough(tmp_path: Path) -> None:
    settings = Settings.from_environment(tmp_path, {})
    assert settings.database_url == f"sqlite:///{tmp_path}/pressworthy.sqlite3"
    assert settings.broker_url == f"redis+socket://{tmp_path}/valkey/valkey.sock"
    assert settings.store_url is None
    assert settings.days_kept == 30
    assert settings.asks_for_token
    assert settings.limits == Limits(seconds=60, memory=1_500_000_000, pages=5_000, bytes=500_000_000, open_files=64)


def test_what_is_given_is_used(tmp_path: Path) -> None:
    given_ = {
        "PRESSWORTHY_DATA": str(tmp_path),
        "PRESSWORTHY_BROKER_URL": "redis://broker:6379/0",
        "PRESSWORTHY_DATABASE_URL": "postgresql://user@host/name",
        "PRESSWORTHY_STORE_URL": "s3://books/kept",
        "PRESSWORTHY_DAYS_KEPT": "7",
        "PRESSWORTHY_MAX_PAGES": "100",
    }
    settings = Settings.from_environment(None, given_)
    assert (settings.data, settings.broker_url) == (tmp_path, "redis://broker:6379/0")
    assert (settings.database_url, settings.store_url) == ("postgresql://user@host/name", "s3://books/kept")
    assert (settings.days_kept, settings.limits.pages) == (7, 100)
    assert Settings.from_environment(tmp_path / "other", given_).data == tmp_path / "other"


@pytest.mark.parametrize("value", ["0", "-1", "many", "1.5", "1e3", "٣", "inf"])
@pytest.mark.parametrize("name", ["PRESSWORTHY_MAX_SECONDS", "PRESSWORTHY_DAYS_KEPT", "PRESSWORTHY_WORKERS"])
def test_a_wrong_number_is_refused_by_name(name: str, value: str) -> None:
    with pytest.raises(SettingsError, match=name):
        Settings.from_environment(None, {name: value})


@pytest.mark.parametrize(
    ("given_", "days"),
    [
        ({}, (30, 30, 30)),
        ({"PRESSWORTHY_DAYS_KEPT": "7"}, (7, 7, 7)),
        ({"PRESSWORTHY_DAYS_KEPT_FILES": "3"}, (30, 3, 30)),
        ({"PRESSWORTHY_DAYS_KEPT": "400", "PRESSWORTHY_DAYS_KEPT_PICTURES": "90"}, (400, 400, 90)),
    ],
)
def test_files_and_pictures_are_kept_as_long_as_the_report_or_less(
    given_: dict[str, str], days: tuple[int, ...]
) -> None:
    found = Settings.from_environment(None, given_)
    assert (found.days_kept, found.days_kept_files, found.days_kept_pictures) == days


@pytest.mark.parametrize(
    ("name", "value", "of"),
    [
        ("PRESSWORTHY_DAYS_KEPT_FILES", "31", "PRESSWORTHY_DAYS_KEPT"),
        ("PRESSWORTHY_DAYS_KEPT_PICTURES", "31", "PRESSWORTHY_DAYS_KEPT"),
        ("PRESSWORTHY_SHARE_DAYS", "91", "PRESSWORTHY_MOST_SHARE_DAYS"),
    ],
)
def test_what_goes_beyond_another_setting_is_refused_by_both_names(name: str, value: str, of: str) -> None:
    with pytest.raises(SettingsError, match=f"{name} is {value}; it goes no further than {of}"):
        Settings.from_environment(None, {name: value})


def test_a_member_may_have_as_much_as_is_said() -> None:
    names = ("PRESSWORTHY_MEMBER_AT_ONCE", "PRESSWORTHY_MEMBER_A_DAY", "PRESSWORTHY_MEMBER_BYTES")
    found = Settings.from_environment(None, dict(zip(names, ("1", "2", "3"), strict=True))).quota
    assert (found.at_once, found.a_day, found.bytes) == (1, 2, 3)


def test_a_link_holds_no_longer_than_one_may() -> None:
    found = Settings.from_environment(None, {"PRESSWORTHY_MOST_SHARE_DAYS": "5"})
    assert (found.share_days, found.most_share_days) == (5, 5)


def test_a_log_level_is_one_of_four() -> None:
    assert Settings.from_environment(None, {"PRESSWORTHY_LOG_LEVEL": "ERROR"}).log_level == "ERROR"
    with pytest.raises(SettingsError, match="DEBUG, INFO, WARNING, ERROR"):
        Settings.from_environment(None, {"PRESSWORTHY_LOG_LEVEL": "loud"})


def test_every_setting_is_told_of() -> None:
    """What the code reads from the environment stands in the module's table."""
    code = "".join(Path(module.__file__ or "").read_text() for module in (settings_module, limits_module))
    told = set(re.findall(r"``(PRESSWORTHY_\w+)``", settings_module.__doc__ or ""))
    assert set(re.findall(r'"(PRESSWORTHY_\w+)"', code)) <= told


def test_a_relative_database_is_the_same_for_every_process() -> None:
    settings = Settings.from_environment(None, {"PRESSWORTHY_DATABASE_URL": "sqlite:///rows.sqlite3"})
    assert settings.database_url == f"sqlite:///{Path.cwd() / 'rows.sqlite3'}"


@given(st.text(alphabet="abcé/", min_size=0, max_size=200))
def test_a_sockets_path_is_never_too_long(name: str) -> None:
    """Linux takes 107 bytes, macOS 103 (unix(7); sys/un.h)."""
    settings = Settings.from_environment(Path("/srv") / name.strip("/"), {})
    assert len(os.fsencode(settings.broker_socket)) <= 103
    assert settings.broker_socket == Settings.from_environment(settings.data, {}).broker_socket


@pytest.mark.parametrize(
    ("size", "said"), [(999, "999 bytes"), (1_000, "1 kB"), (1_500_000_000, "1.5 GB"), (500_000_000, "500 MB")]
)
def test_bytes_in_words(size: int, said: str) -> None:
    assert show_bytes(size) == said
