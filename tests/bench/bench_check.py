"""Times the whole check of long books against poppler's tools, and judging again.

``python -m tests.bench.bench_check [--turns N]``

A script, not a test: figures depend on the machine, so each is a median of several turns, taken in turn in one run.
The yardstick is ``pdftotext -bbox`` + ``pdffonts`` + ``pdfimages -list``, one after another.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from tests.books.books import long_novel
from tests.corpora import MEMOIR
from worker.collecting import collect_seldom
from worker.keeping import keep_reading
from worker.measure import measure
from worker.profiles import Profile, builtin_profiles, load_profile
from worker.reading import reading_of
from worker.reporting import finished, judge_again, keep_report
from worker.settings import Settings
from worker.store import LOCAL, NewInspection, Store, file_key, new_inspection_id, open_store
from worker.store.models import now

CHECK = [sys.executable, "-c", "from service.cli import main; main()", "check", "--format", "json", "-o"]


@dataclass(frozen=True)
class Row:
    """Medians in seconds for one book."""

    name: str
    pages: int
    check: float
    poppler: dict[str, float]

    @property
    def yardstick(self) -> float:
        return sum(self.poppler.values())


def _run(command: list[str]) -> None:
    """Run a command whose output nobody reads; a check of a flawed book exits 1."""
    done = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{command[0]} failed: {done.stderr.decode()}")


def _seconds(action: Callable[[], object]) -> float:
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def time_book(path: Path, turns: int, folder: Path) -> Row:
    """One row: every command once a turn, so that a busy moment of the machine falls on all alike."""
    commands = {
        "check": [*CHECK, str(folder / "report.json"), "--profile", "common-paperback", str(path)],
        "pdftotext -bbox": ["pdftotext", "-bbox", str(path), str(folder / "words.html")],
        "pdffonts": ["pdffonts", str(path)],
        "pdfimages -list": ["pdfimages", "-list", str(path)],
    }
    times: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(turns):
        for name, command in commands.items():
            times[name].append(_seconds(partial(_run, command)))
    medians = {name: statistics.median(taken) for name, taken in times.items()}
    check = medians.pop("check")
    return Row(path.name, measure(path).document.pages, check, medians)


def time_judging(path: Path, turns: int, folder: Path) -> tuple[int, list[float]]:
    """Pages, and the seconds it takes each time to judge what is kept by another profile, report kept."""
    store = open_store(Settings.from_environment(folder))
    measurements, first = measure(path), load_profile("ternhaven-mono")
    new = _taken_in(store, path, first)
    known = keep_reading(store, new.id, reading_of(measurements), now())
    row = store.rows.create_done(new, finished(keep_report(store, new.id, known, first), measurements))
    profiles = [load_profile(name) for name in builtin_profiles()]
    pages = measurements.document.pages
    del measurements, known
    collect_seldom()  # as the web process does that answers such a call
    taken = [_seconds(partial(judge_again, store, row, profile)) for profile in profiles * turns]
    return pages, taken


def _taken_in(store: Store, path: Path, profile: Profile) -> NewInspection:
    inspection_id = new_inspection_id()
    kept = store.bytes.write(file_key(inspection_id), path.read_bytes())
    return NewInspection(
        id=inspection_id,
        owner=LOCAL,
        file_name=path.name,
        sha256=kept.sha256,
        bytes=kept.bytes,
        profile_id=profile.id,
        profile_json=profile.model_dump_json(),
    )


def show(rows: list[Row]) -> None:
    """Print the table."""
    tools = list(rows[0].poppler)
    heads = "".join(f"{tool:>17}" for tool in tools)
    print(f"{'book':<14}{'pages':>7}{'check s':>10}{heads}{'sum':>8}{'ratio':>8}")
    for row in rows:
        figures = "".join(f"{row.poppler[tool]:>17.2f}" for tool in tools)
        ratio = row.check / row.yardstick
        print(f"{row.name:<14}{row.pages:>7}{row.check:>10.2f}{figures}{row.yardstick:>8.2f}{ratio:>8.2f}")


def main() -> None:
    """Time the novel of 720 pages, memoir's manual where it is installed, and judging 800 pages."""
    parser = argparse.ArgumentParser(description="time the check of long books against poppler's tools")
    parser.add_argument("--turns", type=int, default=5, help="times each command is run (default 5)")
    turns = parser.parse_args().turns
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        books = [long_novel(folder / "novel.pdf")]
        if MEMOIR.path.exists():
            books.append(MEMOIR.path)
        show([time_book(path, turns, folder) for path in books])
        pages, taken = time_judging(long_novel(folder / "novel-800.pdf", pages=800), turns, folder / "data")
        median, worst = statistics.median(taken) * 1000, max(taken) * 1000
        print(f"judging again, {pages} pages: median {median:.0f} ms, worst {worst:.0f} ms of {len(taken)}")


if __name__ == "__main__":
    main()
