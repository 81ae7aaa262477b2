"""What the README says to type is typed, as it stands, against a real service: curl, Python, a step of a CI job."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.api.server import ROOT, serving
from tests.needs import needs_program
from tests.queue.workshop import Workshop
from worker.profiles import builtin_profiles
from worker.store import open_store

ADDRESS = "http://127.0.0.1:8321"
"""Where the README takes the service to be."""

needs_curl = needs_program("curl", package="curl")


def block(sign: str) -> str:
    """The one block of code in the README that has ``sign`` in it."""
    blocks = re.findall(r"^```\w*\n(.*?)^```$", (ROOT / "README.md").read_text("utf-8"), re.DOTALL | re.MULTILINE)
    (found,) = [each for each in blocks if sign in each]
    return str(found)


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    """A broker and a worker that measures for real."""
    made = Workshop.at(tmp_path_factory.mktemp("data"))
    made.start_broker()
    made.start_worker("worker.run")
    yield made
    made.close()


@pytest.fixture(scope="module")
def service(workshop: Workshop) -> Iterator[str]:
    """The address of the web service beside them, which asks for no token."""
    with serving(workshop.settings.data) as web:
        yield f"http://127.0.0.1:{web.port}"


@pytest.fixture(scope="module")
def token(workshop: Workshop) -> Iterator[str]:
    """An access token of the service."""
    store = open_store(workshop.settings)
    yield store.tokens.make("the CI job")[1]
    store.close()


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    """A folder with the sample books, as a checkout has them."""
    (tmp_path / "sample_pdfs").symlink_to(ROOT / "sample_pdfs")
    return tmp_path


def run(program: list[str], text: str, desk: Path, service: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """Run a block of the README; only the service's address is another."""
    environment = {"PATH": os.environ["PATH"], "HOME": str(desk)} | variables
    command = [*program, text.replace(ADDRESS, service)]
    return subprocess.run(command, cwd=desk, env=environment, capture_output=True, text=True, timeout=180, check=False)


@needs_curl
def test_curl(service: str, desk: Path) -> None:
    first, *others = block("/judgements").splitlines()
    sent = run(["sh", "-c"], first, desk, service)
    head, _, body = sent.stdout.replace("\r", "").rpartition("\n\n")
    assert re.search(r"^HTTP/1\.1 201 ", head, re.MULTILINE), sent
    inspection = json.loads(body)
    assert inspection["state"] == "done"
    shown = ""
    for line in others:
        done = run(["sh", "-c"], line.replace("ID", inspection["id"]), desk, service)
        assert done.returncode == 0, done
        shown += done.stdout
    assert '"pressworthy.report/1"' in shown
    assert '"ternhaven-mono"' in shown
    assert (desk / "report.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    for name, begins in (("page-8.png", b"\x89PNG"), ("proof.pdf", b"%PDF-")):
        line = next(each for each in others if name in each).replace("ID", inspection["id"])
        until = time.monotonic() + 90
        while b"Ask again in" in (desk / name).read_bytes() and time.monotonic() < until:  # as the answer says
            time.sleep(5)
            run(["sh", "-c"], line, desk, service)
        assert (desk / name).read_bytes().startswith(begins)


def test_python(service: str, desk: Path) -> None:
    done = run([sys.executable, "-I", "-c"], block("urllib.request"), desk, service)
    assert done.returncode == 0, done
    verdict, *findings = done.stdout.splitlines()
    assert verdict == "not-pressworthy"  # what is wrong with the book is written down beside it
    assert findings


@needs_curl
@pytest.mark.parametrize(
    ("book", "status", "verdict"),
    [("second-harbour", 1, "not-pressworthy"), ("keeper-of-the-low-light", 0, "pressworthy")],
)
def test_a_step_of_a_ci_job(service: str, desk: Path, token: str, book: str, status: int, verdict: str) -> None:
    path = f"sample_pdfs/{book}.pdf"
    variables = {"BOOK": path, "PRESSWORTHY_URL": service, "PRESSWORTHY_TOKEN": token}
    done = run(["sh", "-c"], block("set -eu"), desk, service, **variables)
    assert (done.returncode, done.stdout) == (status, f"{path}: {verdict}\n"), done
    assert (desk / "report.html").is_file()


@needs_curl
def test_a_step_of_a_ci_job_fails_where_the_file_is_no_book(service: str, desk: Path, token: str) -> None:
    (desk / "letter.txt").write_text("Dear printer")
    variables = {"BOOK": "letter.txt", "PRESSWORTHY_URL": service, "PRESSWORTHY_TOKEN": token}
    done = run(["sh", "-c"], block("set -eu"), desk, service, **variables)
    assert done.returncode != 0
    assert "415" in done.stderr  # RFC 9110, 15.5.16, as curl tells it


@needs_curl
def test_a_profile_of_ones_own(service: str, desk: Path) -> None:
    (desk / "my-printer.toml").write_text(block('id = "my-printer"'), "utf-8")
    done = run(["sh", "-c"], block("curl -T"), desk, service)
    assert json.loads(done.stdout)["shared"] == "circle", done
    shown = run(["sh", "-c"], f"curl -s {ADDRESS}/v1/profiles/my-printer", desk, service)
    assert json.loads(shown.stdout)["id"] == "my-printer"
    assert "my-printer" not in builtin_profiles()


def test_the_one_line_of_the_ci_job(desk: Path) -> None:
    line = 'pressworthy check "$BOOK" --profile common-paperback'
    assert f"`{line}`" in (ROOT / "README.md").read_text("utf-8")
    program = shutil.which("pressworthy", path=str(Path(sys.executable).parent))
    assert program is not None
    variables = {"BOOK": "sample_pdfs/second-harbour.pdf", "PYTHONPATH": str(ROOT)}
    done = run(["sh", "-c"], line.replace("pressworthy", program, 1), desk, "", **variables)
    assert done.returncode == 1, done
