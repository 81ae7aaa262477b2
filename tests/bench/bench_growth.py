"""How the cost of a check grows with the book, how much memory it takes, and how it compares with pdfminer.six alone.

``python -m tests.bench.bench_growth [--turns N]``

Novels of 500 to 5,000 pages by Typst. Processor seconds are those of the command and all that it starts; the memory is
the peak of the largest of its processes (``ru_maxrss`` of getrusage). pdfminer.six's ``extract_pages`` goes through the
720-page novel in a process of its own.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from tests.bench.bench_check import CHECK

SIZES = (500, 1000, 2000, 3500, 5000)
EXTRACT = "import sys\nfrom pdfminer.high_level import extract_pages\nfor _ in extract_pages(sys.argv[1]): pass"


@dataclass(frozen=True)
class Cost:
    """Wall and processor seconds, and the peak memory of the largest process in MB."""

    wall: float
    processor: float
    memory: float


def cost(command: list[str]) -> Cost:
    """Run a command and weigh it. Of its own children those count that it waited for."""
    start = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    wall = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in (0, 1):
        raise SystemExit(f"{command[0]} ended with {child.returncode}")
    return Cost(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def typical(command: list[str], turns: int) -> Cost:
    """The medians of several turns."""
    costs = [cost(command) for _ in range(turns)]
    return Cost(
        statistics.median(each.wall for each in costs),
        statistics.median(each.processor for each in costs),
        statistics.median(each.memory for each in costs),
    )


def novel_of(pages: int, path: Path) -> Path:
    """A novel set by a process of its own: a child's peak counts what its parent was when it was started."""
    code = "import sys; from pathlib import Path; from tests.books.books import long_novel; "
    code += "long_novel(Path(sys.argv[1]), int(sys.argv[2]))"
    subprocess.run([sys.executable, "-c", code, str(path), str(pages)], check=True)
    return path


def checked(path: Path, folder: Path) -> list[str]:
    return [*CHECK, str(folder / "report.json"), "--profile", "common-paperback", str(path)]


def main() -> None:
    """Print the curve, and the comparison."""
    parser = argparse.ArgumentParser(description="how the cost of a check grows with the book")
    parser.add_argument("--turns", type=int, default=3, help="times each command is run (default 3)")
    turns = parser.parse_args().turns
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print(f"{'pages':>6}{'wall s':>9}{'processor s':>13}{'ms a page':>11}{'peak MB':>9}")
        for pages in SIZES:
            took = typical(checked(novel_of(pages, folder / "novel.pdf"), folder), turns)
            each = 1000 * took.processor / pages
            print(f"{pages:>6}{took.wall:>9.2f}{took.processor:>13.2f}{each:>11.2f}{took.memory:>9.0f}")
        novel = novel_of(720, folder / "novel.pdf")
        ours = typical(checked(novel, folder), turns).wall
        theirs = typical([sys.executable, "-c", EXTRACT, str(novel)], turns).wall
        print(f"720 pages: check {ours:.2f} s, extract_pages {theirs:.2f} s, {theirs / ours:.1f} times as long")


if __name__ == "__main__":
    main()
