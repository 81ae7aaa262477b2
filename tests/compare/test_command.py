"""``pressworthy check NEW --against OLD``: what it says, and how it ends."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.books.designs.by_typst import set_by_typst
from tests.books.designs.sound import PLAIN
from tests.command.test_command import pressworthy
from tests.compare.books import MORE_FRONT


@pytest.fixture(scope="module")
def old(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report on a book whose text stands too near the outer edge."""
    folder = tmp_path_factory.mktemp("old")
    set_by_typst(PLAIN.but(outside=12.0), folder / "old.pdf")
    report = folder / "old.json"
    done = pressworthy("check", folder / "old.pdf", "--format", "json", "-o", report)
    assert (done.returncode, done.stderr) == (1, "")
    return report


@pytest.fixture(scope="module")
def mended(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same book with a wider margin."""
    return set_by_typst(PLAIN.but(outside=60.0, front=MORE_FRONT), tmp_path_factory.mktemp("mended") / "mended.pdf")


def test_a_mended_book_is_said_to_be(mended: Path, old: Path) -> None:
    done = pressworthy("check", mended, "--against", old)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Of 1 earlier finding 1 is mended and none stays; none is new." in " ".join(done.stdout.split())
    data = json.loads(pressworthy("check", mended, "--against", old, "--format", "json").stdout)
    assert [each["rule"] for each in data["comparison"]["mended"]] == ["outside-margin"]
    assert data["comparison"]["followed"] is True
    page = pressworthy("check", mended, "--against", old, "--format", "html").stdout
    assert 'id="since"' in page


def test_the_exit_status_is_that_of_the_new_file(mended: Path, old: Path, tmp_path: Path) -> None:
    now = tmp_path / "now.json"
    assert pressworthy("check", mended, "--format", "json", "-o", now).returncode == 0
    assert pressworthy("check", old.with_name("old.pdf"), "--against", now).returncode == 1


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (None, "name a report that can be read"),
        (b"not JSON", "not JSON that holds a report"),
        (b'{"schema": "pressworthy.measurements/1"}', "only 'pressworthy.report/1'"),
        (b'{"schema": "pressworthy.report/1", "pages": 3}', "is missing or wrong"),
    ],
)
def test_what_is_no_report_is_refused_in_one_line(
    mended: Path, tmp_path: Path, content: bytes | None, says: str
) -> None:
    against = tmp_path / "against.json"
    if content is not None:
        against.write_bytes(content)
    refused = pressworthy("check", mended, "--against", against)
    assert (refused.returncode, refused.stdout) == (2, "")
    assert refused.stderr.count("\n") == 1
    assert says in refused.stderr
