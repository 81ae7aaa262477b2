"""The command as a person or a script meets it: output, exit status, one-line errors."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest

from service.app import create_app
from worker.settings import Settings

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_pdfs"


def pressworthy(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    call = [sys.executable, "-m", "service.cli", *map(str, arguments)]
    return subprocess.run(call, capture_output=True, text=True, cwd=ROOT, check=False)


def test_a_sound_book_and_a_flawed_one() -> None:
    sound = pressworthy("check", SAMPLES / "keeper-of-the-low-light.pdf")
    assert (sound.returncode, sound.stderr) == (0, "")
    assert sound.stdout.startswith("Pressworthy")
    flawed = pressworthy("check", SAMPLES / "second-harbour.pdf")
    assert (flawed.returncode, flawed.stderr) == (1, "")
    assert "\x1b" not in flawed.stdout, "output to a pipe is plain"


def test_the_report_as_json_and_as_a_page(tmp_path: Path) -> None:
    report = json.loads(pressworthy("check", SAMPLES / "second-harbour.pdf", "--format", "json").stdout)
    assert report["schema"] == "pressworthy.report/1"
    assert report["verdict"] == "not-pressworthy"
    page = tmp_path / "report.html"
    pressworthy("check", SAMPLES / "second-harbour.pdf", "--format", "html", "-o", page)
    told = page.read_text(encoding="utf-8")
    assert "<html" in told
    assert told.count("data:image/webp;base64,") >= 5  # nine pages of it have flaws of their own, by the README beside
    assert 'aria-label="Page 18, a picture of the page"' in told


def test_a_sample_chapter_is_judged_as_the_finished_book() -> None:
    arguments = ("check", SAMPLES / "keeper-of-the-low-light.pdf", "--pages", "820", "--format", "json")
    report = json.loads(pressworthy(*arguments).stdout)
    (margin,) = [finding for finding in report["findings"] if finding["rule"] == "inside-margin"]
    assert report["judged_as_pages"] == 820
    assert margin["required"]["value"] == pytest.approx(0.95 * 72)  # past 800 pages; common practice, no source


def test_measurements() -> None:
    facts = json.loads(pressworthy("measure", SAMPLES / "keeper-of-the-low-light.pdf").stdout)
    assert facts["schema"] == "pressworthy.measurements/1"
    assert "lines" not in facts["pages"][0]
    assert json.loads(pressworthy("measure", SAMPLES / "keeper-of-the-low-light.pdf", "--lines").stdout)["pages"][8][
        "lines"
    ]


@pytest.mark.parametrize(
    ("content", "arguments", "says"),
    [
        (None, (), "name a PDF that can be read"),
        (b"", (), "the file is empty"),
        (b"PK\x03\x04 a word processor's file", (), "not a PDF"),
        (b"%PDF-1.7\n", ("--profile", "nobody"), "common-paperback"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_line(
    tmp_path: Path, content: bytes | None, arguments: tuple[str, ...], says: str
) -> None:
    file = tmp_path / "book.pdf"
    if content is not None:
        file.write_bytes(content)
    refused = pressworthy("check", file, *arguments)
    assert (refused.returncode, refused.stdout) == (2, "")
    assert refused.stderr.count("\n") == 1
    assert says in refused.stderr


def test_a_truncated_file_is_an_answer(tmp_path: Path) -> None:
    whole = (SAMPLES / "keeper-of-the-low-light.pdf").read_bytes()
    (tmp_path / "half.pdf").write_bytes(whole[: len(whole) // 2])
    answered = pressworthy("check", tmp_path / "half.pdf", "--format", "json")
    assert answered.returncode == 1
    assert "damaged-file" in {finding["rule"] for finding in json.loads(answered.stdout)["findings"]}


def test_tokens_are_shown_once(tmp_path: Path) -> None:
    made = pressworthy("token", "make", "desk", "--data", tmp_path)
    assert made.returncode == 0
    listed = pressworthy("token", "list", "--data", tmp_path).stdout
    assert "desk  in force" in listed
    assert made.stdout.strip() not in listed
    assert pressworthy("token", "revoke", "desk", "--data", tmp_path).returncode == 0
    assert "desk  revoked" in pressworthy("token", "list", "--data", tmp_path).stdout


def test_the_operator_is_shown_the_secret_that_signs_a_tokens_callbacks(tmp_path: Path) -> None:
    made = pressworthy("token", "make", "desk", "--data", tmp_path)
    shown = pressworthy("token", "callback-secret", "desk", "--data", tmp_path)
    assert (shown.returncode, shown.stderr) == (0, "")
    app = create_app(replace(Settings.from_environment(tmp_path, {}), asks_for_token=True))
    bearer = {"Authorization": f"Bearer {made.stdout.strip()}"}
    told = app.test_client().get("/v1/callback-secret", headers=bearer).get_json()
    assert shown.stdout.strip() == told["secret"]
    pressworthy("token", "revoke", "desk", "--data", tmp_path)
    for name in ("desk", "nobody"):
        refused = pressworthy("token", "callback-secret", name, "--data", tmp_path)
        assert (refused.returncode, refused.stdout) == (2, "")
        assert "`pressworthy token list` shows" in refused.stderr


def test_a_member_has_tokens_of_its_own_until_it_leaves(tmp_path: Path) -> None:
    assert pressworthy("member", "make", "Reading Room", "--circle", "press", "--data", tmp_path).returncode == 0
    again = pressworthy("member", "make", "Reading Room", "--data", tmp_path)
    assert (again.returncode, again.stdout) == (2, "")
    assert "choose another name" in again.stderr
    limited = ("--scope", "read", "--scope", "submit", "--days", "30")
    made = pressworthy("token", "make", "laptop", "--member", "Reading Room", *limited, "--data", tmp_path)
    assert made.returncode == 0
    listed = pressworthy("token", "list", "--data", tmp_path).stdout
    assert "Reading Room: laptop  in force until 2" in listed
    assert "read,submit  never used" in listed
    stranger = pressworthy("token", "make", "laptop", "--member", "Pump House", "--data", tmp_path)
    assert (stranger.returncode, stranger.stdout) == (2, "")
    assert "pressworthy member list" in stranger.stderr
    assert pressworthy("member", "end", "Reading Room", "--data", tmp_path).returncode == 0
    assert "left 2" in pressworthy("member", "list", "--data", tmp_path).stdout
    assert "laptop  revoked" in pressworthy("token", "list", "--data", tmp_path).stdout


@pytest.mark.parametrize("name", ["", " ", "two\nlines", "\x1b[31mred", "x" * 101])
def test_a_name_that_would_not_show_on_a_line_is_refused(name: str, tmp_path: Path) -> None:
    for command in ("member", "token"):
        refused = pressworthy(command, "make", name, "--data", tmp_path)
        assert (refused.returncode, refused.stdout) == (2, "")
        assert "on one line" in refused.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal as POSIX has it")
def _all_of(terminal: int) -> str:
    """What was drawn on a terminal that its program has left; a closed one ends with an error (pty(7))."""
    pieces = []
    with suppress(OSError):
        while piece := os.read(terminal, 1 << 16):
            pieces.append(piece)
    os.close(terminal)
    return b"".join(pieces).decode()


def test_a_bar_shows_on_a_terminal_and_leaves_the_output_alone(tmp_path: Path) -> None:
    """Standard error is a terminal: the bar is drawn there, and nothing of it gets into the report."""
    import pty

    ours, theirs = pty.openpty()
    out = tmp_path / "report.txt"
    call: list[str | Path] = [sys.executable, "-m", "service.cli", "check"]
    call += [SAMPLES / "keeper-of-the-low-light.pdf", "-o", out]
    done = subprocess.run(call, stderr=theirs, cwd=ROOT, check=False, env={**os.environ, "TERM": "xterm"})
    os.close(theirs)
    drawn = _all_of(ours)
    assert done.returncode == 0
    assert "measuring" in drawn
    assert "\x1b" in drawn
    assert "measuring" not in out.read_text(encoding="utf-8")
