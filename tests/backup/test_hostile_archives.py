"""Archives that somebody has tampered with: nothing of them is believed, and nothing of them stays."""

from __future__ import annotations

import fcntl
import hashlib
import io
import json
import sqlite3
import tarfile
import tracemalloc
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.store.conftest import new
from worker.backup import BackupRefused, back_up
from worker.restore import restore
from worker.settings import Settings
from worker.store import file_key, open_store

Members = list[tuple[tarfile.TarInfo, bytes]]


@pytest.fixture
def sound(tmp_path: Path) -> Path:
    """A backup with one inspection in it."""
    settings = Settings.from_environment(tmp_path / "kept", {})
    store = open_store(settings)
    asked = new()
    store.bytes.write(file_key(asked.id), b"%PDF-1.7 a book")
    store.rows.create(asked)
    store.close()
    back_up(settings, tmp_path / "sound.tar")
    return tmp_path / "sound.tar"


def _members(file: Path) -> Members:
    with tarfile.open(file) as archive:
        found = [(member, archive.extractfile(member)) for member in archive]
        return [(member, data.read()) for member, data in found if data is not None]


def _written(file: Path, members: Members) -> Path:
    """The archive of these members; its table of contents is made to agree with them."""
    told = {member.name: hashlib.sha256(data).hexdigest() for member, data in members[:-1]}
    contents = json.dumps({"schema": "pressworthy.backup/1", "sha256": told}).encode()
    with tarfile.open(file, "w") as archive:
        for member, data in [*members[:-1], (members[-1][0], contents)]:
            member.size = len(data) if member.isreg() else 0
            archive.addfile(member, io.BytesIO(data))
    return file


def _named(name: str, kind: bytes = tarfile.REGTYPE, to: str = "") -> tarfile.TarInfo:
    member = tarfile.TarInfo(name)
    member.type, member.linkname = kind, to
    return member


def _refused(file: Path, match: str) -> None:
    """It is refused, and neither the folder that was to be filled nor any other has anything of it."""
    before = set(file.parent.rglob("*"))
    back = Settings.from_environment(file.parent / "back", {})
    with pytest.raises(BackupRefused, match=match) as refused:
        restore(back, file)
    assert "\n" not in str(refused.value)
    assert set(file.parent.rglob("*")) - before == {back.data}
    assert list(back.data.iterdir()) == []


OBJECT = f"files/{file_key('ins_' + 'a' * 26)}"


@pytest.mark.parametrize(
    "member",
    [
        _named("../outside.txt"),
        _named("/pressworthy-outside.txt"),
        _named("files/../../outside.txt"),
        _named("files/inspections/../../outside.txt"),
        _named("files/inspections/ins_x/file.pdf"),
        _named("serve.lock"),
        _named("valkey/valkey.sock"),
        _named(f"./{OBJECT}"),
        _named(OBJECT, tarfile.SYMTYPE, "/etc/passwd"),
        _named(OBJECT, tarfile.LNKTYPE, "pressworthy.sqlite3"),
        _named(OBJECT, tarfile.FIFOTYPE),
        _named(OBJECT, tarfile.CHRTYPE),
        _named(OBJECT, tarfile.DIRTYPE),
        _named("session.key", tarfile.SYMTYPE, "/etc/passwd"),
    ],
    ids=lambda member: f"{member.name} {member.type.decode()}",
)
def test_a_member_that_no_backup_has_is_refused(sound: Path, member: tarfile.TarInfo) -> None:
    _refused(_written(sound.with_name("other.tar"), [(member, b"x"), *_members(sound)]), "that no backup has")


@pytest.mark.parametrize("kind", [tarfile.XHDTYPE, tarfile.XGLTYPE, tarfile.GNUTYPE_LONGNAME, tarfile.GNUTYPE_LONGLINK])
def test_a_header_that_would_fill_the_memory_is_not_read(tmp_path: Path, kind: bytes) -> None:
    """``tarfile`` reads a header whole, however long it says that it is; this file takes no room on the disk."""
    header = tarfile.TarInfo("x")
    header.type, header.size = kind, 600_000_000
    bomb = tmp_path / "bomb.tar"
    with bomb.open("wb") as file:
        file.write(header.tobuf(tarfile.USTAR_FORMAT))
        file.truncate(header.size + 2_048)
    tracemalloc.start()
    _refused(bomb, "longer than any of ours")
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 50_000_000


def test_a_name_that_comes_twice_is_refused(sound: Path) -> None:
    members = _members(sound)
    _refused(_written(sound.with_name("other.tar"), [members[0], *members]), "that no backup has")


def test_an_archive_that_breaks_off_anywhere_is_refused(sound: Path) -> None:
    whole = sound.read_bytes()
    sound.unlink()
    for size in range(0, len(whole.rstrip(b"\0")), 5 * 512):
        cut = sound.with_name("cut.tar")
        cut.write_bytes(whole[:size])
        _refused(cut, "no backup of this service")
        cut.with_name("back").rmdir()


def test_a_changed_byte_is_refused(sound: Path) -> None:
    whole = sound.read_bytes()
    at = whole.index(b"a book")
    sound.write_bytes(whole[:at] + b"A" + whole[at + 1 :])
    _refused(sound, "not what it says")


def test_what_follows_the_table_of_contents_is_refused(sound: Path) -> None:
    members = _members(sound)
    _refused(_written(sound.with_name("other.tar"), [members[-1], *members]), "stands after")


def test_another_file_is_refused(sound: Path) -> None:
    for data in (b"", b"%PDF-1.7", b"\x1f\x8b" + b"x" * 600, bytes(10_240)):
        sound.write_bytes(data)
        _refused(sound, "no backup of this service")
        sound.with_name("back").rmdir()


def _with_trigger(rows: sqlite3.Connection) -> None:
    rows.execute("CREATE TRIGGER steals AFTER INSERT ON inspections BEGIN DELETE FROM tokens; END")


def _with_view(rows: sqlite3.Connection) -> None:
    rows.execute("CREATE VIEW steals AS SELECT load_extension('evil')")


def _of_tomorrow(rows: sqlite3.Connection) -> None:
    rows.execute("UPDATE alembic_version SET version_num = '9999'")


def _without_tables(rows: sqlite3.Connection) -> None:
    rows.execute("DROP TABLE inspections")


@pytest.mark.parametrize(
    ("change", "match"),
    [
        (_with_trigger, "never makes"),
        (_with_view, "never makes"),
        (_of_tomorrow, "a later version"),
        (_without_tables, "no backup of this service"),
    ],
)
def test_a_database_that_is_not_ours_is_refused(
    sound: Path, change: Callable[[sqlite3.Connection], None], match: str
) -> None:
    members = _members(sound)
    place = next(at for at, (member, _) in enumerate(members) if member.name == "pressworthy.sqlite3")
    database = sound.with_name("changed.sqlite3")
    database.write_bytes(members[place][1])
    with closing(sqlite3.connect(database)) as rows:
        change(rows)
        rows.commit()
    members[place] = (members[place][0], database.read_bytes())
    _refused(_written(sound.with_name("other.tar"), members), match)


def test_a_damaged_database_is_refused(sound: Path) -> None:
    members = _members(sound)
    place = next(at for at, (member, _) in enumerate(members) if member.name == "pressworthy.sqlite3")
    data = members[place][1]
    members[place] = (members[place][0], data[:4096] + b"\xff" * (len(data) - 4096))
    _refused(_written(sound.with_name("other.tar"), members), "no backup of this service")


def test_a_folder_in_use_is_left_alone(sound: Path) -> None:
    back = Settings.from_environment(sound.parent / "back", {})
    back.data.mkdir()
    with (back.data / "serve.lock").open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        with pytest.raises(BackupRefused, match="stop it"):
            restore(back, sound)
    assert [path.name for path in back.data.iterdir()] == ["serve.lock"]
