"""Bytes in an S3-compatible bucket, or whatever else obstore opens by URL."""

from __future__ import annotations

import contextlib
import hashlib
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import IO, BinaryIO, cast

import obstore
from obstore.exceptions import BaseError
from obstore.store import ObjectStore, from_url

from worker.store.errors import Missing, StoreDown
from worker.store.keys import checked, pictured_key, pictures_prefix, prefix_of, proof_key, unproved_key
from worker.store.objects import Incoming, Kept, Usage, drop_old_files

PIECE = 8 * 1024 * 1024
"""Bytes that are held in memory of one object on its way."""


class BucketBytes:
    """Objects in a bucket; see :class:`worker.store.objects.Bytes`. Uploads wait in the folder ``arriving``.

    Keys and the endpoint come from the environment, under the names that S3's own tools use (``AWS_ACCESS_KEY_ID``,
    ``AWS_SECRET_ACCESS_KEY``, ``AWS_REGION``, ``AWS_ENDPOINT_URL``; ``AWS_ALLOW_HTTP=true`` for a plain endpoint).
    """

    def __init__(self, url: str, *, arriving: Path) -> None:
        self._store: ObjectStore = from_url(url)
        self._arriving = arriving

    def incoming(self, *, limit: int | None = None) -> Incoming:
        return Incoming(self._arriving, limit=limit, keep=self._put)

    def write(self, key: str, data: bytes) -> Kept:
        obstore.put(self._store, checked(key), data)
        return Kept(hashlib.sha256(data).hexdigest(), len(data))

    def read(self, key: str) -> bytes:
        with _missing(key):
            return bytes(obstore.get(self._store, checked(key)).bytes())

    def open(self, key: str) -> BinaryIO:
        file = tempfile.SpooledTemporaryFile(max_size=PIECE)  # noqa: SIM115 - the caller closes it
        try:
            self._fetch(key, cast(IO[bytes], file))
        except BaseException:
            file.close()
            raise
        file.seek(0)
        return cast(BinaryIO, file)

    def size(self, key: str) -> int | None:
        try:
            with _missing(key):
                return int(obstore.head(self._store, checked(key))["size"])
        except Missing:
            return None

    def copy(self, source: str, target: str) -> None:
        with _missing(source):
            obstore.copy(self._store, checked(source), checked(target))

    @contextlib.contextmanager
    def local(self, key: str) -> Iterator[Path]:
        with tempfile.NamedTemporaryFile(prefix="pressworthy-", suffix=".pdf") as file:
            self._fetch(key, file)
            file.flush()
            yield Path(file.name)

    def delete_all(self, inspection_id: str) -> None:
        self._delete_below(prefix_of(inspection_id))

    def delete(self, key: str) -> None:
        with contextlib.suppress(FileNotFoundError):
            obstore.delete(self._store, checked(key))

    def delete_pictures(self, inspection_id: str) -> None:
        self._delete_below(pictures_prefix(inspection_id))
        for key in (pictured_key(inspection_id), proof_key(inspection_id), unproved_key(inspection_id)):
            self.delete(key)

    def inspections(self, *, untouched_for: float) -> list[str]:
        latest: dict[str, float] = {}
        for metas in obstore.list(self._store, prefix="inspections/"):
            for meta in metas:
                inspection_id = meta["path"].split("/")[1]
                written = meta["last_modified"].timestamp()
                latest[inspection_id] = max(written, latest.get(inspection_id, 0.0))
        before = time.time() - untouched_for
        return [inspection_id for inspection_id, written in latest.items() if written < before]

    def usage(self) -> Usage:
        sizes = [meta["size"] for metas in obstore.list(self._store, prefix="inspections/") for meta in metas]
        return Usage(len(sizes), sum(sizes), None)

    def tidy(self, *, untouched_for: float) -> None:
        drop_old_files(self._arriving, before=time.time() - untouched_for)

    def check(self) -> None:
        try:
            next(iter(obstore.list(self._store, prefix="inspections/", chunk_size=1)), None)
        except (BaseError, OSError) as error:
            raise StoreDown(f"the bucket does not answer ({str(error).splitlines()[0]})") from error

    def _put(self, temporary: Path, key: str) -> None:
        with temporary.open("rb") as file:
            obstore.put(self._store, checked(key), file, chunk_size=PIECE)

    def _delete_below(self, prefix: str) -> None:
        for metas in obstore.list(self._store, prefix=prefix):
            obstore.delete(self._store, [meta["path"] for meta in metas])

    def _fetch(self, key: str, file: IO[bytes]) -> None:
        with _missing(key):
            for piece in obstore.get(self._store, checked(key)).stream(min_chunk_size=PIECE):
                file.write(piece)


@contextlib.contextmanager
def _missing(key: str) -> Iterator[None]:
    """obstore's word for an object that is not there, as ours."""
    try:
        yield
    except FileNotFoundError:
        raise Missing(key) from None
