"""Many files, each read in a process of its own, and a table of what came of it: ``python -m tests.fuzz``.

The same seed makes the same files, with the same versions of the libraries that make them. Exit status 1 where a law
was broken; the files are kept in a folder.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing import get_context
from pathlib import Path

from tests.fuzz.running import KINDS, Batch, Tally, run

_BATCH = 100
_FOLDER = Path(tempfile.gettempdir()) / "pressworthy-fuzz"
_ANSWERS = ("measured", "unreadable", "limit", "broken")


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--files", type=int, default=1000, help="how many in all")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--kinds", nargs="+", choices=KINDS, default=KINDS)
    parser.add_argument("--folder", type=Path, default=_FOLDER, help="where files are kept; by default %(default)s")
    asked = parser.parse_args()
    started, tally = time.monotonic(), Tally()
    with ProcessPoolExecutor(asked.processes, mp_context=get_context("fork")) as pool:
        batches = list(_batches(asked.files, asked.seed, asked.kinds))
        running = [pool.submit(run, batch, asked.folder) for batch in batches]
        for done, finished in enumerate(as_completed(running), 1):
            tally.add(finished.result())
            _tell_progress(done, len(batches), tally)
    print("\n".join(_table(tally, asked.kinds, time.monotonic() - started)))
    return 1 if tally.broken else 0


def _batches(count: int, seed: int, kinds: list[str]) -> Iterator[Batch]:
    """Kinds in turn; each batch has a seed of its own."""
    for number, start in enumerate(range(0, count, _BATCH)):
        yield Batch(kinds[number % len(kinds)], seed * 1_000_000 + number, min(_BATCH, count - start))


def _tell_progress(done: int, batches: int, tally: Tally) -> None:
    laws = ", ".join(f"{name} ({law.count})" for name, law in tally.broken.items())
    print(f"{done} of {batches} batches; broken: {laws or 'nothing'}", file=sys.stderr, flush=True)


def _table(tally: Tally, kinds: list[str], seconds: float) -> Iterator[str]:
    yield f"{'':12}{'files':>8}" + "".join(f"{answer:>12}" for answer in _ANSWERS)
    for kind in kinds:
        counts = [tally.answers[kind, answer] for answer in _ANSWERS]
        yield f"{kind:12}{sum(counts):8}" + "".join(f"{count:12}" for count in counts)
    yield f"{'all':12}{sum(tally.answers.values()):8}" + "".join(
        f"{sum(count for (_, each), count in tally.answers.items() if each == answer):12}" for answer in _ANSWERS
    )
    yield f"pages read: {tally.pages - tally.unread:,}; could not be read, and say so: {tally.unread:,}"
    yield f"limits: {', '.join(f'{name} {count}' for name, count in sorted(tally.limits.items()) if count) or 'none'}"
    yield f"highest memory: {tally.memory >> 20} MB, of which {tally.own_memory >> 20} MB are the tests' own"
    yield "slowest: " + ", ".join(f"{name} {spent:.1f} s" for spent, name in tally.slowest)
    yield f"{seconds:.0f} s in all"
    yield f"laws broken: {len(tally.broken)}"
    for name, law in sorted(tally.broken.items(), key=lambda item: -item[1].count):
        yield f"{law.count:6}  {name}: {' '.join(law.detail.split())[:300]}"
        yield f"        {', '.join(law.saved)}"


if __name__ == "__main__":
    sys.exit(main())
