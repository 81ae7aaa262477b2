"""Bytes by key, in a folder and in a bucket: whole, durable, and nowhere but where they belong."""

from __future__ import annotations

import hashlib
import os
import resource
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.needs import needs_module
from worker.store import (
    BadKey,
    Bytes,
    Missing,
    TooLarge,
    file_key,
    new_inspection_id,
    picture_key,
    pictured_key,
    proof_key,
    report_key,
    undrawn_key,
    unproved_key,
)
from worker.store.bucket import BucketBytes
from worker.store.folder import FolderBytes
from worker.store.keys import checked, prefix_of


@pytest.fixture(params=["folder", pytest.param("bucket", marks=[needs_module("moto"), needs_module("flask_cors")])])
def objects(request: pytest.FixtureRequest, tmp_path: Path) -> Bytes:
    """An empty place of each kind (new ids keep the tests of one bucket apart)."""
    if request.param == "folder":
        return FolderBytes(tmp_path / "files")
    return BucketBytes(request.getfixturevalue("s3_url"), arriving=tmp_path / "arriving")


def test_an_upload_is_hashed_on_its_way_and_kept(objects: Bytes) -> None:
    key, data = file_key(new_inspection_id()), os.urandom(3_000_000)
    with objects.incoming(limit=len(data)) as upload:
        for start in range(0, len(data), 70_000):
            upload.write(data[start : start + 70_000])
        assert upload.head(8) == data[:8]
        assert objects.size(key) is None
        kept = upload.keep(key)
    assert (kept.sha256, kept.bytes) == (hashlib.sha256(data).hexdigest(), len(data))
    assert objects.read(key) == data
    assert objects.size(key) == len(data)
    with objects.open(key) as file:
        assert file.read(10) == data[:10]
        assert file.seek(0, os.SEEK_END) == len(data)
    with objects.local(key) as path:
        assert path.read_bytes() == data


def test_an_upload_that_is_too_large_leaves_nothing(objects: Bytes, tmp_path: Path) -> None:
    with objects.incoming(limit=10) as upload:
        upload.write(b"0123456789")
        with pytest.raises(TooLarge) as refused:
            upload.write(b"x")
    assert refused.value.limit == 10
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_an_upload_that_breaks_off_leaves_nothing(objects: Bytes, tmp_path: Path) -> None:
    with objects.incoming() as upload:
        upload.write(b"half a book")
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_writing_again_replaces(objects: Bytes) -> None:
    key = report_key(new_inspection_id())
    objects.write(key, b"first")
    kept = objects.write(key, b"second")
    assert objects.read(key) == b"second"
    assert kept.sha256 == hashlib.sha256(b"second").hexdigest()


def test_a_copy_is_its_own(objects: Bytes) -> None:
    source, target = file_key(first := new_inspection_id()), file_key(second := new_inspection_id())
    objects.write(source, b"a book")
    objects.copy(source, target)
    objects.write(source, b"another")
    assert objects.read(target) == b"a book"
    objects.delete_all(first)
    assert objects.size(source) is None
    assert objects.read(target) == b"a book"
    objects.delete_all(second)
    assert objects.size(target) is None


def test_what_is_not_there_is_missing(objects: Bytes) -> None:
    key = file_key(new_inspection_id())
    assert objects.size(key) is None
    with pytest.raises(Missing):
        objects.read(key)
    with pytest.raises(Missing):
        objects.open(key)
    with pytest.raises(Missing), objects.local(key):
        pass
    with pytest.raises(Missing):
        objects.copy(key, file_key(new_inspection_id()))
    objects.delete_all(new_inspection_id())


def test_deleting_takes_all_of_one_and_none_of_another(objects: Bytes) -> None:
    one, other = new_inspection_id(), new_inspection_id()
    for inspection_id in (one, other):
        objects.write(file_key(inspection_id), b"x")
        objects.write(picture_key(inspection_id, 12), b"x")
    objects.delete_all(one)
    assert objects.size(picture_key(one, 12)) is None
    assert objects.size(picture_key(other, 12)) == 1
    assert other in objects.inspections(untouched_for=-5)
    assert one not in objects.inspections(untouched_for=-5)
    assert other not in objects.inspections(untouched_for=60)


def test_the_file_and_the_pictures_go_by_themselves(objects: Bytes) -> None:
    one, other = new_inspection_id(), new_inspection_id()
    rest = (report_key(one), proof_key(other), picture_key(other, 3), file_key(other))
    pictures = (
        *(picture_key(one, 3), picture_key(one, 30), undrawn_key(one, 4)),
        *(pictured_key(one), proof_key(one), unproved_key(one)),
    )
    objects.write(file_key(one), b"of the same bytes")
    objects.copy(file_key(one), file_key(other))
    for key in (*rest[:3], *pictures):
        objects.write(key, b"x")
    for _ in range(2):  # none is no error
        objects.delete(file_key(one))
        assert objects.size(file_key(one)) is None
    assert all(objects.size(key) is not None for key in (*pictures, *rest))
    for _ in range(2):
        objects.delete_pictures(one)
        assert [key for key in pictures if objects.size(key) is not None] == []
    assert all(objects.size(key) is not None for key in rest)
    assert objects.read(file_key(other)) == b"of the same bytes"


def test_uploads_that_broke_off_long_ago_are_dropped(objects: Bytes, tmp_path: Path) -> None:
    upload = objects.incoming()
    upload.write(b"half a book")
    (left,) = (path for path in tmp_path.rglob("upload-*"))
    objects.tidy(untouched_for=60)
    assert left.exists()
    os.utime(left, (time.time() - 120,) * 2)
    objects.tidy(untouched_for=60)
    assert not left.exists()
    upload.discard()


def test_both_answer(objects: Bytes) -> None:
    objects.check()


def test_files_are_for_nobody_else(tmp_path: Path) -> None:
    objects = FolderBytes(tmp_path / "files")
    objects.write(picture_key(new_inspection_id(), 1), b"x")
    for path in (tmp_path / "files").rglob("*"):
        assert path.stat().st_mode & 0o077 == 0, path


@pytest.mark.parametrize(
    "key",
    [
        "../../etc/passwd",
        "/etc/passwd",
        "inspections/../file.pdf",
        f"inspections/ins_{'a' * 26}/../../x",
        f"inspections/ins_{'a' * 26}/pages/0.png",
        f"inspections/ins_{'a' * 26}/pages/1.png\n",
        f"inspections/ins_{'a' * 26}/other.pdf",
        f"inspections/ins_{'A' * 26}/file.pdf",
    ],
)
def test_no_other_path_is_read_or_written(objects: Bytes, key: str) -> None:
    with pytest.raises(BadKey):
        objects.write(key, b"x")
    with pytest.raises(BadKey):
        objects.read(key)


@given(st.text())
def test_any_text_that_is_no_id_is_refused(text: str) -> None:
    for make in (file_key, report_key, prefix_of, lambda name: picture_key(name, 1), checked):
        with pytest.raises(BadKey):
            make(text)


@given(st.integers(min_value=1, max_value=999_999))
def test_every_id_that_we_make_is_taken(page: int) -> None:
    key = picture_key(new_inspection_id(), page)
    assert checked(key) == key


def test_an_upload_that_there_is_no_room_for_leaves_nothing(objects: Bytes, tmp_path: Path) -> None:
    """The limit on a file's size (setrlimit(2)) stands in for a full disk: writing fails, and so does closing."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, hard))
    try:
        with pytest.raises(OSError, match="too large"), objects.incoming() as upload:
            for _ in range(1000):
                upload.write(b"x" * 1000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert list(tmp_path.rglob("upload-*")) == []
