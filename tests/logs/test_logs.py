"""Log lines: JSON as RFC 8259 has it, and no secret in them whatever is logged."""

from __future__ import annotations

import json
import logging
import sys
import threading
import uuid
from contextvars import copy_context
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from worker.logs import a_request_id, formatter, request_id, without_secrets, working_for
from worker.settings import Settings
from worker.store import new_inspection_id


def _line(message: object, *arguments: object, form: str = "json", **extra: object) -> str:
    settings = Settings.from_environment(Path("/nowhere"), {"PRESSWORTHY_LOG_FORMAT": form})
    record = logging.LogRecord("worker.attempt", logging.INFO, __file__, 1, message, arguments, None)
    record.__dict__.update(extra)
    return formatter(settings, "worker").format(record)


@given(st.text(), st.text())
def test_any_text_is_one_line_of_json(message: str, argument: str) -> None:
    line = _line("%s and %s", message, argument)
    assert len(line.encode("utf-8", "surrogatepass").splitlines()) == 1
    assert json.loads(line)["part"] == "worker"


def test_a_line_names_the_request_it_belongs_to() -> None:
    assert "request_id" not in json.loads(_line("begun"))
    with working_for("tern-7"):
        assert json.loads(_line("begun"))["request_id"] == "tern-7"
        assert _line("begun", form="text").endswith(" worker INFO begun (request tern-7)")
        heard: list[str | None] = []
        thread = threading.Thread(target=copy_context().run, args=(lambda: heard.append(request_id()),))
        thread.start()
        thread.join()
        assert heard == ["tern-7"]
    assert request_id() is None


def test_facts_stand_beside_the_message() -> None:
    line = json.loads(_line("answered", told={"status": 200, "owner": None}))
    assert (line["status"], line["owner"], line["message"]) == (200, None, "answered")


@pytest.mark.parametrize(
    "text",
    [
        "Authorization: Bearer {}",
        "GET /shared/{} HTTP/1.1",
        "Invalid Request Line: 'GET /v1/inspections?secret={} HTTQ/1.1'",
        "postgresql://pressworthy:{}@database/books",
        "token pw_{} is not known",
        "whsec_{}",
        "the key {}, at the end",
    ],
)
@pytest.mark.parametrize("form", ["json", "text"])
def test_what_was_taken_at_random_is_left_out(text: str, form: str) -> None:
    for _ in range(50):
        secret = "Em9mjgXq9EGLrJkmhCFz0KOzjcR6Hw1T0FcU85hUj1A"
        assert secret not in _line(text.format(secret), form=form)
        assert secret not in _line("%s", RuntimeError(text.format(secret)), form=form)


def test_a_password_of_any_length_is_left_out_of_an_address() -> None:
    assert without_secrets("redis://:hunter2@broker:6379/0") == "redis://:…@broker:6379/0"
    assert without_secrets("Basic aGk6aG8=") == "Basic …"


def test_a_secret_in_an_exception_is_left_out() -> None:
    secret = "Em9mjgXq9EGLrJkmhCFz0KOzjcR6Hw1T0FcU85hUj1A"
    try:
        raise RuntimeError(f"https://author.example/{secret}")
    except RuntimeError:
        line = _line("broke off", exc_info=sys.exc_info())
    assert "RuntimeError" in line
    assert secret not in line


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("/shared/s3cr3t", "/shared/…"),
        ("GET /author/s3cr3t/pages/1.png HTTP/1.1", "GET /author/…/pages/1.png HTTP/1.1"),
        ('"http://press.example/shared/s3cr3t"', '"http://press.example/shared/…"'),
        ("/v1/inspections/ins_x/shares", "/v1/inspections/ins_x/shares"),
    ],
)
def test_the_secret_part_of_a_link_is_left_out(said: str, kept: str) -> None:
    assert without_secrets(said) == kept


def test_what_helps_to_find_a_fault_is_left_in() -> None:
    inspection = new_inspection_id()
    for text in (
        f"{inspection}: attempt 2",
        f"GET broke off: {uuid.uuid4().urn}",
        f"Task pressworthy.inspect[{uuid.uuid4()}] received",
        'File "/srv/pressworthy/worker/store/database.py", line 40, in write',
        "sqlalchemy.exc.OperationalError: (psycopg.OperationalError) connection failed",
        "what_a_very_long_name_of_a_function_this_is_indeed()",
        "is that so? it is",
    ):
        assert without_secrets(text) == text


@pytest.mark.parametrize("sane", ["a", "tern-7", "a.b_c:1", "x" * 31, "0B0F1F44-1d0b-4b39-8c8d-7e6a53f9a6a1"])
def test_a_sane_id_is_taken(sane: str) -> None:
    assert a_request_id(sane) == sane


@pytest.mark.parametrize(
    "odd",
    [
        None,
        "",
        "-a",
        "a b",
        "a\n",
        "é",
        "a" * 65,
        "a\x00",
        "pw_abcdefgh",
        "Em9mjgXq9EGLrJkmhCFz0KOzjcR6Hw1T0FcU85hUj1A",
        '{"a":1}',
    ],
)
def test_an_odd_id_is_not(odd: str | None) -> None:
    made = a_request_id(odd)
    assert made != odd
    assert len(made) == 36
