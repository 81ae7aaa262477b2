"""Uploads at the door. Forms: RFC 7578; status codes: RFC 9110; SHA-256 of Python's hashlib."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import pytest
from flask import request
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from service.intake import receive, tidy_text
from service.problems import Problem
from tests.api.books import book, form
from tests.api.conftest import MOST_BYTES
from worker.store import Store, file_key

TO = "/v1/inspections"
PDF = "application/pdf"


def _send(
    client: FlaskClient, fields: object, files: list[tuple[str, str | None, bytes]] | None = None, **how: bool
) -> TestResponse:
    body, kind = form(fields, [("file", "b.pdf", book())] if files is None else files, **how)  # type: ignore[arg-type]
    return client.post(TO, data=body, content_type=kind)


def _nothing_kept(store: Store) -> bool:
    folder: Path = vars(store.bytes)["_arriving"]  # both kinds have it
    arriving = list(folder.iterdir()) if folder.is_dir() else []
    return store.rows.page("local").items == [] and store.bytes.inspections(untouched_for=-1) == [] and arriving == []


@pytest.mark.parametrize("file_first", [False, True])
def test_a_form_is_taken_its_parts_in_any_order(client: FlaskClient, store: Store, file_first: bool) -> None:
    answer = _send(
        client,
        {"profile": "ternhaven-mono", "pages": "240", "title": "The Long Mole"},
        [("file", "long-mole.pdf", book())],
        file_first=file_first,
    )
    assert answer.status_code == 202
    told = answer.get_json()
    assert told["state"] == "queued"
    assert told["position"] == 1
    assert (told["profile"], told["judged_as_pages"], told["title"]) == ("ternhaven-mono", 240, "The Long Mole")
    sha256 = hashlib.sha256(book()).hexdigest()
    assert told["file"] == {"name": "long-mole.pdf", "sha256": sha256, "bytes": len(book())}
    assert answer.headers["Location"] == told["links"]["self"] == f"/v1/inspections/{told['id']}"
    assert store.bytes.read(file_key(told["id"])) == book()
    assert client.get(answer.headers["Location"]).get_json() == told


def test_a_body_that_is_the_pdf_is_taken(client: FlaskClient, store: Store) -> None:
    answer = client.post(
        f"{TO}?profile=common-paperback&name=long%20mole.pdf&title=A+mole&pages=300", data=book(), content_type=PDF
    )
    assert answer.status_code == 202
    assert answer.get_json()["file"]["name"] == "long mole.pdf"
    assert (answer.get_json()["title"], answer.get_json()["judged_as_pages"]) == ("A mole", 300)
    assert store.bytes.read(file_key(answer.get_json()["id"])) == book()


def test_a_broker_that_is_away_is_no_failed_upload(client: FlaskClient, store: Store) -> None:
    assert client.get("/v1/ready").get_json()["broker"] == "does not answer"
    answer = client.post(f"{TO}?profile=common-paperback", data=book(), content_type=PDF)
    assert answer.status_code == 202
    row = store.rows.get(answer.get_json()["id"])
    assert row is not None
    assert row.state == "queued"


@pytest.mark.parametrize(
    ("before", "status"), [(0, 202), (100, 202), (1024 - len(b"%PDF-"), 202), (1024, 415)], ids=str
)
def test_a_pdf_says_so_within_its_first_1024_bytes(client: FlaskClient, before: int, status: int) -> None:
    # PDF Reference 1.7, appendix H, implementation note on section 3.4.1 (from memory).
    answer = client.post(f"{TO}?profile=common-paperback", data=b" " * before + book(), content_type=PDF)
    assert answer.status_code == status


REFUSED = [
    ({"profile": "ternhaven-mono"}, [], 422, "invalid-request"),
    ({"profile": "ternhaven-mono"}, [("file", "b.pdf", b"")], 422, "empty-file"),
    ({"profile": "ternhaven-mono"}, [("file", "b.txt", b"Once upon a time")], 415, "not-a-pdf"),
    ({"profile": "ternhaven-mono"}, [("file", "b.pdf", b"%PDF-" + b"x" * MOST_BYTES)], 413, "too-large"),
    ({"profile": "ternhaven-mono"}, [("book", "b.pdf", book())], 422, "invalid-request"),
    ({"profile": "ternhaven-mono"}, [("file", None, book())], 422, "invalid-request"),
    ({"profile": "ternhaven-mono"}, [("file", "b.pdf", book())] * 2, 422, "invalid-request"),
    ({"profile": "no-such"}, None, 422, "unknown-profile"),
    ({}, None, 422, "invalid-request"),
    ({"profile": "ternhaven-mono", "colour": "red"}, None, 422, "invalid-request"),
    ({"profile": "ternhaven-mono", "pages": "many"}, None, 422, "invalid-request"),
    ({"profile": "ternhaven-mono", "pages": "0"}, None, 422, "invalid-request"),
    ({"profile": "ternhaven-mono", "title": "x" * 301}, None, 422, "invalid-request"),
    ({"profile": "ternhaven-mono", "title": "two\nlines"}, None, 422, "invalid-request"),
    ({"profile": "ternhaven-mono", "title": "x" * 20_000}, None, 413, "too-large"),
    ([("profile", "ternhaven-mono")] * 2, None, 422, "invalid-request"),
    ([("profile", "ternhaven-mono")] + [(f"x{n}", "") for n in range(40)], None, 400, "malformed-request"),
]


@pytest.mark.parametrize(("fields", "files", "status", "slug"), REFUSED)
@pytest.mark.parametrize("file_first", [False, True])
def test_what_cannot_be_used_is_refused_and_leaves_nothing(
    client: FlaskClient, store: Store, fields: object, files: object, status: int, slug: str, file_first: bool
) -> None:
    answer = _send(client, fields, files, file_first=file_first)  # type: ignore[arg-type]
    assert (answer.status_code, answer.get_json()["type"]) == (status, f"/problems/{slug}"), answer.get_json()
    assert answer.mimetype == "application/problem+json"
    assert _nothing_kept(store)


def test_a_refusal_names_the_place_and_the_choice(client: FlaskClient) -> None:
    missing = _send(client, {}).get_json()
    assert missing["errors"] == [{"field": "profile", "detail": "It is missing."}]
    unknown = _send(client, {"profile": "ternhaven-mon"}).get_json()
    assert "ternhaven-mono" in unknown["known"]
    assert "ternhaven-mono" in unknown["detail"]
    large = _send(client, {"profile": "ternhaven-mono"}, [("file", "b.pdf", b"%PDF-" + b"x" * MOST_BYTES)]).get_json()
    assert large["limit"] == {"bytes": MOST_BYTES}
    assert str(MOST_BYTES) in large["detail"]


def test_what_is_announced_as_too_large_is_refused_before_it_comes(client: FlaskClient, store: Store) -> None:
    class NeverRead(io.RawIOBase):
        def readinto(self, _buffer: object) -> int:
            raise AssertionError("the body was read before it was refused")

    announced = {"CONTENT_LENGTH": str(MOST_BYTES + 1), "CONTENT_TYPE": PDF, "wsgi.input": NeverRead()}
    with client.application.test_request_context(TO, method="POST", environ_overrides=announced):  # noqa: SIM117
        with pytest.raises(Problem) as refused, receive(request, store, MOST_BYTES, {}):
            pass
    assert refused.value.kind.status == 413


@pytest.mark.parametrize("size", [MOST_BYTES, MOST_BYTES + 1])
def test_the_limit_itself_is_taken_and_a_byte_more_is_not(client: FlaskClient, size: int) -> None:
    whole = book() + b"\n" * (size - len(book()))
    status = 202 if size == MOST_BYTES else 413
    assert client.post(f"{TO}?profile=common-paperback", data=whole, content_type=PDF).status_code == status
    assert _send(client, {"profile": "common-paperback"}, [("file", "b.pdf", whole)]).status_code == status


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"--tern",
        b"no boundary at all",
        b"--tern\r\nContent-Disposition: form-data\r\n\r\nx\r\n--tern--\r\n",
        b"--tern\r\nContent-Type: text/plain\r\n\r\nx\r\n--tern--\r\n",
        b"--tern\r\n" + b"X: " + b"x" * 500_000,
        form({"profile": "ternhaven-mono"}, [("file", "b.pdf", book())], end=False)[0],
    ],
    ids=["empty", "cut", "no boundary", "no name", "no disposition", "endless header", "no end"],
)
def test_a_broken_form_is_one_clear_refusal(client: FlaskClient, store: Store, body: bytes) -> None:
    kind = "multipart/form-data; boundary=tern"
    answer = client.post(TO, input_stream=io.BytesIO(body), content_type=kind, content_length=len(body))
    assert (answer.status_code, answer.get_json()["type"]) == (400, "/problems/malformed-request"), answer.get_json()
    assert _nothing_kept(store)


def test_a_form_without_boundary_is_refused(client: FlaskClient) -> None:
    assert client.post(TO, data=b"x", content_type="multipart/form-data").status_code == 400


def test_a_body_that_ends_before_its_end_is_refused(client: FlaskClient, store: Store) -> None:
    announced = {"CONTENT_LENGTH": str(len(book()))}
    answer = client.post(
        f"{TO}?profile=common-paperback", data=book()[:500], content_type=PDF, environ_overrides=announced
    )
    assert (answer.status_code, answer.get_json()["type"]) == (400, "/problems/malformed-request")
    assert _nothing_kept(store)


@pytest.mark.parametrize("kind", ["text/plain", "application/octet-stream", "application/x-www-form-urlencoded", ""])
def test_another_media_type_is_refused_and_told_which_are_taken(client: FlaskClient, kind: str) -> None:
    answer = client.post(TO, data=b"x=y", content_type=kind)
    assert (answer.status_code, answer.get_json()["type"]) == (415, "/problems/unsupported-media-type")
    assert answer.headers["Accept"] == "multipart/form-data, application/pdf"  # RFC 9110, 15.5.16


def test_a_field_in_the_form_and_in_the_address_is_refused(client: FlaskClient) -> None:
    body, kind = form({"profile": "ternhaven-mono"}, [("file", "b.pdf", book())])
    assert client.post(f"{TO}?profile=ternhaven-mono", data=body, content_type=kind).status_code == 422
    assert client.post(f"{TO}?title=A+mole", data=body, content_type=kind).get_json()["title"] == "A mole"


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("../../etc/passwd", "passwd"),
        ("a\x00b\x1b[31m.pdf", "a b [31m.pdf"),
        ("<script>alert(1)</script>.pdf", "script>.pdf"),
        ("x" * 400 + ".pdf", "x" * 255),
        ("", "untitled.pdf"),
        ("..", ".."),
        ("/", "untitled.pdf"),
        ("книга.pdf", "книга.pdf"),
    ],
)
def test_a_strangers_file_name_is_text_and_no_path(client: FlaskClient, store: Store, sent: str, kept: str) -> None:
    answer = _send(client, {"profile": "ternhaven-mono"}, [("file", sent, book())])
    assert answer.get_json()["file"]["name"] == kept
    assert store.bytes.read(file_key(answer.get_json()["id"])) == book()


def test_the_folders_before_a_name_are_left_out(client: FlaskClient) -> None:
    for name in ("/home/tern/mole.pdf", "C:\\books\\mole.pdf", "mole.pdf"):
        query = {"profile": "ternhaven-mono", "name": name}
        assert (
            client.post(TO, query_string=query, data=book(), content_type=PDF).get_json()["file"]["name"] == "mole.pdf"
        )


@given(st.text())
def test_tidy_text_is_one_printable_line(text: str) -> None:
    tidy = tidy_text(text)
    assert tidy == tidy_text(tidy)
    assert len(tidy.splitlines()) <= 1
    assert "\x00" not in tidy
    tidy.encode()


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(content=st.binary(max_size=300), cut=st.integers(1, 40))
def test_any_bytes_come_through_a_form_unchanged(client: FlaskClient, store: Store, content: bytes, cut: int) -> None:
    """Boundaries, line ends and pieces of both inside the file included; it may arrive in pieces of any size."""
    whole = b"%PDF-" + content + b"\r\n--ter\r\n--tern_" + content

    class InPieces(io.BytesIO):
        def read(self, size: int | None = -1, /) -> bytes:
            return super().read(min(cut, size) if size and size > 0 else cut)

    body, kind = form({"profile": "ternhaven-mono"}, [("file", "b.pdf", whole)], file_first=True)
    answer = client.post(TO, input_stream=InPieces(body), content_type=kind, content_length=len(body))
    assert answer.status_code == 202, answer.get_json()
    assert store.bytes.read(file_key(answer.get_json()["id"])) == whole
