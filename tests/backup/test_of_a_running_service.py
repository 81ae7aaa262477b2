"""``pressworthy backup`` and ``restore`` as a person runs them, beside a real service that is being used."""

from __future__ import annotations

import os
import subprocess
import threading
import urllib.request
from pathlib import Path

import pytest

from tests.serve.test_serve import COMMAND, ROOT, Running, running


def _run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    told = {name: value for name, value in os.environ.items() if not name.startswith("PRESSWORTHY_")}
    command = [*COMMAND, *map(str, words)]
    return subprocess.run(command, cwd=ROOT, env=told, capture_output=True, text=True, check=False, timeout=120)


def _delete(service: Running, path: str) -> None:
    with urllib.request.urlopen(urllib.request.Request(service.url + path, method="DELETE"), timeout=20) as answer:
        assert answer.status == 204


@pytest.fixture
def book(sample_pdfs: Path) -> bytes:
    return (sample_pdfs / "tide-tables.pdf").read_bytes()


def test_a_service_in_use_is_backed_up_and_another_goes_on_from_there(tmp_path: Path, book: bytes) -> None:
    file, back = tmp_path / "backup.tar", tmp_path / "back"
    with running(tmp_path / "kept") as service:
        first = service.upload(book)
        service.wait_done(first)
        report = service.get(f"{first}/report.json")
        doomed = [service.upload(book) for _ in range(10)]
        ended, sent = threading.Event(), []

        def go_on_working() -> None:
            while not ended.is_set():
                sent.append(service.upload(book))
                if doomed:
                    _delete(service, doomed.pop())

        at_work = threading.Thread(target=go_on_working)
        at_work.start()
        made = _run("backup", file, "--data", tmp_path / "kept")
        again = _run("backup", file, "--data", tmp_path / "kept")
        refused = _run("restore", file, "--data", tmp_path / "kept")
        ended.set()
        at_work.join()
    assert (made.returncode, made.stderr) == (0, "")
    assert sent, "nothing was going on"
    for command, word in ((again, "name another file"), (refused, "choose an empty folder")):
        assert command.returncode == 2
        assert word in command.stderr
        assert len(command.stderr.splitlines()) == 1
    restored = _run("restore", file, "--data", back)
    assert (restored.returncode, restored.stderr) == (0, "")
    assert restored.stdout.split(": ")[1] == made.stdout.split(": ")[1]
    with running(back) as service:
        assert service.get(f"{first}/report.json") == report
        listed = service.get("v1/inspections?limit=200")["inspections"]
        assert len(listed) == int(made.stdout.split(": ")[1].split()[0])
        for each in listed:
            service.wait_done(f"v1/inspections/{each['id']}")


def test_a_service_whose_data_is_elsewhere_is_told_how(tmp_path: Path) -> None:
    told = os.environ | {"PRESSWORTHY_DATABASE_URL": "postgresql://host/books", "PRESSWORTHY_DATA": str(tmp_path)}
    for words in (["backup", str(tmp_path / "b.tar")], ["restore", str(tmp_path / "b.tar")]):
        ended = subprocess.run([*COMMAND, *words], cwd=ROOT, env=told, capture_output=True, text=True, check=False)
        assert ended.returncode == 2
        assert "pg_dump" in ended.stderr
        assert len(ended.stderr.splitlines()) == 1
