"""Log lines: as text for a person, or as JSON for a program (one object a line), and never a secret in either.

The request that began some work is named in every line of it. In the service that is the request being answered; in a
worker it is the one that brought the inspection, or that asked for a picture or a proof.
"""

from __future__ import annotations

import json
import logging
import re
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime

from worker.settings import Settings

__all__ = ["TOLD", "a_request_id", "formatter", "request_id", "set_up_logs", "without_secrets", "working_for"]

TOLD = "told"
"""The name under which a line brings facts of its own: ``log.info("…", extra={TOLD: {"status": 200}})``."""

LONGEST_REQUEST_ID = 64
_SANE = re.compile(rf"[A-Za-z0-9][A-Za-z0-9._:-]{{0,{LONGEST_REQUEST_ID - 1}}}", re.ASCII)

_request_id: ContextVar[str | None] = ContextVar("request_id", default=None)

_HIDDEN = "…"
_UUID = r"(?i:[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})"
_SECRETS = (
    (re.compile(r"\bpw_[\w-]+"), f"pw_{_HIDDEN}"),
    (re.compile(r"(?<=/(?:shared|author)/)[^/\s?#\"']+"), _HIDDEN),
    (re.compile(r"(?i)\b(bearer|basic)\s+[^\s'\",]+"), rf"\1 {_HIDDEN}"),
    (re.compile(r"(://[^\s/@:]*):[^\s@]+@"), rf"\1:{_HIDDEN}@"),
    (re.compile(r"(?<=[\w/])\?[^\s'\"<>]+=[^\s'\"<>]*"), f"?{_HIDDEN}"),
    # What a program took at random: 32 signs or more with a capital or a digit among them. Ids of ours are shorter;
    # a UUID names a task, a request or a fault, and opens nothing.
    (re.compile(rf"(?<![\w-])(?!{_UUID}(?![\w-]))(?=[\w-]*[A-Z0-9])[\w-]{{32,}}", re.ASCII), _HIDDEN),
)
"""What is taken for a secret wherever it stands: our tokens, the secret part of a link, credentials, passwords and
queries of addresses, and words too long and too odd to be any."""


def request_id() -> str | None:
    """The request that is being worked for; None where there is none."""
    return _request_id.get()


@contextmanager
def working_for(request: str | None) -> Iterator[None]:
    """Name ``request`` in every line that is logged within; None changes nothing."""
    if request is None:
        yield
        return
    before = _request_id.set(request)
    try:
        yield
    finally:
        _request_id.reset(before)


def a_request_id(given: str | None) -> str:
    """The request's own id if it is a plain word of at most 64 signs and no secret; else a new one."""
    if given and _SANE.fullmatch(given) and without_secrets(given) == given:
        return given
    return str(uuid.uuid4())


def set_up_logs(settings: Settings, part: str) -> None:
    """Send this process's log lines to standard error, as the settings say; ``part`` is what the process is."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(formatter(settings, part))
    logging.basicConfig(level=settings.log_level, handlers=[handler], force=True)
    logging.getLogger("alembic").setLevel(logging.WARNING)


def formatter(settings: Settings, part: str) -> logging.Formatter:
    """How a line is written."""
    return _JsonLines(part) if settings.log_format == "json" else _TextLines(part)


def without_secrets(text: str) -> str:
    """The text, with what may be a secret left out."""
    for pattern, instead in _SECRETS:
        text = pattern.sub(instead, text)
    return text


class _TextLines(logging.Formatter):
    def __init__(self, part: str) -> None:
        super().__init__(f"%(asctime)s {part} %(levelname)s %(message)s")

    def format(self, record: logging.LogRecord) -> str:
        line = without_secrets(super().format(record))
        request = request_id()
        return f"{line} (request {request})" if request else line


class _JsonLines(logging.Formatter):
    def __init__(self, part: str) -> None:
        super().__init__()
        self._part = part

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, object] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "part": self._part,
            "logger": record.name,
            "message": without_secrets(record.getMessage()),
        }
        request = request_id()
        if request:
            line["request_id"] = request
        line |= getattr(record, TOLD, {})
        if record.exc_info:
            line["exception"] = without_secrets(self.formatException(record.exc_info))
        return json.dumps(line, ensure_ascii=False, default=str)
