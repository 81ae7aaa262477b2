"""A child that behaves as it is told to: ``python -m tests.fence.child BEHAVIOUR FILE FOLDER``.

It stands in for the reader, so that each way of ending can be brought about at will.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

from worker.measure.models import Document, File, Measurements
from worker.reading import leave, reading_of


def say(**words: object) -> None:
    print(json.dumps(words), flush=True)


def measures(out: Path) -> None:
    leaves(Document(pages=2), out)


def leaves(document: Document, out: Path) -> None:
    found = Measurements(reader="0", file=File(name="x", sha256="0" * 64, bytes=1), document=document)
    leave(reading_of(found), out)


def works(out: Path) -> None:
    for done in range(3):
        say(done=done, total=2)
    measures(out)


def tells(out: Path) -> None:
    """Write down what the child sees of the world, as the document's title."""
    seen = {
        "environment": dict(os.environ),
        "folder": os.getcwd(),
        "in_folder": os.listdir(),
        "limits": [resource.getrlimit(getattr(resource, f"RLIMIT_{name}")) for name in ("CPU", "AS", "NOFILE", "CORE")],
        "leads_its_group": os.getpgid(0) == os.getpid() == os.getsid(0),
        "open": len(os.listdir("/proc/self/fd")) if Path("/proc").is_dir() else 0,
    }
    leaves(Document(pages=1, title=json.dumps(seen)), out)


def sleeps(_: Path) -> None:
    say(done=7, total=9)
    time.sleep(60)


def spins(_: Path) -> None:
    say(done=3, total=9)
    while True:
        pass


def grows(_: Path) -> None:
    say(done=4, total=9)
    hoard = []
    while True:
        hoard.append(bytearray(10_000_000))


def leaves_a_grandchild(_: Path) -> None:
    """Start a process that would live on, say its id, and hang."""
    grandchild = subprocess.Popen(["sleep", "60"])
    say(done=grandchild.pid, total=grandchild.pid + 1)
    time.sleep(60)


def writes_without_end(out: Path) -> None:
    with (out / "facts.json.part").open("wb") as file:
        while True:
            file.write(b"x" * 1_000_000)


def lets_go_of_its_output(out: Path) -> None:
    """Close standard output well before the end: the result still counts."""
    os.close(1)
    time.sleep(0.5)
    measures(out)
    os._exit(0)


def opens_many(_: Path) -> None:
    hoard = []
    while True:
        hoard.append(socket.socket())


def hangs_once(out: Path) -> None:
    """Hang in the middle the first time, and measure the second time; a mark beside the file tells which it is."""
    begun = Path(sys.argv[2]).with_name("begun")
    if begun.exists():
        works(out)
        return
    begun.touch()
    sleeps(out)


def kills_its_worker(_: Path) -> None:
    """What a file might do that the fence did not hold."""
    os.kill(os.getppid(), signal.SIGKILL)
    time.sleep(60)


def as_the_file_says(out: Path) -> None:
    """Behave as the first line of the file asks: ``%PDF-1.7 BEHAVIOUR``."""
    asked = Path(sys.argv[2]).read_text().split()[1]
    BEHAVIOURS[asked](out)


BEHAVIOURS = {
    "as-the-file-says": as_the_file_says,
    "hangs-once": hangs_once,
    "kills-its-worker": kills_its_worker,
    "works": works,
    "tells": tells,
    "sleeps": sleeps,
    "spins": spins,
    "grows": grows,
    "leaves-a-grandchild": leaves_a_grandchild,
    "writes-without-end": writes_without_end,
    "lets-go-of-its-output": lets_go_of_its_output,
    "opens-many": opens_many,
    "aborts": lambda _: os.abort(),
    "is-killed": lambda _: os.kill(os.getpid(), signal.SIGKILL),
    "breaks": lambda _: os.kill(os.getpid(), signal.SIGSEGV),
    "leaves-nothing": lambda _: None,
    "leaves-nonsense": lambda out: (out / "facts.json").write_text("{}"),
    "babbles": lambda _: print("Syntax Warning: nonsense", flush=True),
    "never-ends-its-line": lambda _: print("x" * 10_000_000, flush=True),
    "names-a-limit": lambda _: (say(limit="inflated", page=212, message="page 212 inflates\npast 1 GB"), sys.exit(3)),
    "admits-a-fault": lambda _: (say(fault="the font table is upside down"), sys.exit(1)),
}

if __name__ == "__main__":
    BEHAVIOURS[sys.argv[1]](Path(sys.argv[3]))
