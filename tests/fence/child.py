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
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

from worker.measure import whereabouts
from worker.measure.gathered import Gathered
from worker.measure.models import Document, File, Measurements
from worker.measure.sharing import Twin
from worker.reading import PAGE, leave, reading_of

WEBP = b"RIFF\x0c\0\0\0WEBPVP8L"
"""How a WebP file begins (RFC 9649, 2.4)."""


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


def spins_on(_: Path) -> None:
    """Take all of the processor and not mind the first word about it; the system then ends it without one.

    The limit is drawn in, or the parent's clock would be first.
    """
    say(done=5, total=9)
    signal.signal(signal.SIGXCPU, signal.SIG_IGN)
    used = sum(resource.getrusage(resource.RUSAGE_SELF)[:2])
    resource.setrlimit(resource.RLIMIT_CPU, (int(used) + 1, int(used) + 1))
    while True:
        pass


def gives_in_to_the_processor_limit(_: Path) -> None:
    say(done=5, total=9)
    os.kill(os.getpid(), signal.SIGXCPU)
    time.sleep(60)


def is_killed_for_memory(_: Path) -> None:
    """As the system does where the machine is short of memory: it counts the kill where it keeps its counts."""
    say(done=5, total=9)
    Path(sys.argv[2]).write_text("pgfault 12\noom_kill 4\n")
    os.kill(os.getpid(), signal.SIGKILL)


def allocates_in_a_library(_: Path) -> None:
    """A C++ program whose allocation fails and who catches nothing: what its library says, and how it ends."""
    say(done=5, total=9)
    os.write(2, b"terminate called after throwing an instance of 'std::bad_alloc'\n  what():  std::bad_alloc\n")
    os.abort()


def notes_its_page(out: Path) -> None:
    """Crash on page 41, though the progress counts the pages of two processes."""
    whereabouts.note_in(out / PAGE)
    say(done=80, total=99)
    whereabouts.at(41)
    os.kill(os.getpid(), signal.SIGSEGV)


def is_forked_and_notes(out: Path) -> None:
    """A twin notes nothing: the page is that of the process that began."""
    whereabouts.note_in(out / PAGE)
    whereabouts.at(41)
    twin = Twin(lambda _: _gathers_at_page(77))
    twin.result(lambda: None)
    os.kill(os.getpid(), signal.SIGSEGV)


def _gathers_at_page(page: int) -> Gathered:
    whereabouts.at(page)
    return Gathered()


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
    """Hang in the middle the first time, and measure the second time; a mark, which the file names, tells which it is.

    It is not beside the file: out of a bucket that is another one each time.
    """
    begun = Path(Path(sys.argv[2]).read_text().split()[2])
    if begun.exists():
        works(out)
        return
    begun.touch()
    sleeps(out)


def kills_its_worker(_: Path) -> None:
    """What a file might do that the fence did not hold."""
    os.kill(os.getppid(), signal.SIGKILL)
    time.sleep(60)


def raises(_: Path) -> NoReturn:
    raise KeyError("the page that is not there")


def names_a_limit(_: Path) -> NoReturn:
    say(limit="inflated", page=212, message="page 212 inflates\npast 1 GB")
    sys.exit(3)


def admits_a_fault(_: Path) -> NoReturn:
    say(fault="the font table is upside down")
    sys.exit(1)


def pictures_every_other(out: Path) -> None:
    """Leave a picture of the first page that is wanted, and crash at the second."""
    wanted = json.loads((out / "request.json").read_text())["pages"]
    say(done=0, total=len(wanted))
    (out / f"{wanted[0]['page']}.webp").write_bytes(WEBP)
    say(done=1, total=len(wanted))
    os.kill(os.getpid(), signal.SIGSEGV)


def leaves_what_is_no_picture(out: Path) -> None:
    """One that is too large, one of another kind, one that is elsewhere, one that nobody asked for; and one that is."""
    (out / "1.webp").write_bytes(WEBP + b"x" * 1_000_000)
    (out / "2.webp").write_bytes(b"<script>")
    (out / "elsewhere").write_bytes(WEBP)
    (out / "3.webp").symlink_to(out / "elsewhere")
    (out / "4.webp").mkdir()
    (out / "5.webp").write_bytes(WEBP)
    (out / "77.webp").write_bytes(WEBP)


def as_the_file_says(out: Path) -> None:
    """Behave as the first line of the file asks: ``%PDF-1.7 BEHAVIOUR``."""
    asked = Path(sys.argv[2]).read_text().split()[1]
    BEHAVIOURS[asked](out)


BEHAVIOURS: dict[str, Callable[[Path], object]] = {
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
    "spins-on": spins_on,
    "gives-in-to-the-processor-limit": gives_in_to_the_processor_limit,
    "is-killed-for-memory": is_killed_for_memory,
    "allocates-in-a-library": allocates_in_a_library,
    "notes-its-page": notes_its_page,
    "is-forked-and-notes": is_forked_and_notes,
    "pictures-every-other": pictures_every_other,
    "leaves-what-is-no-picture": leaves_what_is_no_picture,
    "is-told-to-end": lambda _: os.kill(os.getpid(), signal.SIGTERM),
    "raises": raises,
    "aborts": lambda _: os.abort(),
    "is-killed": lambda _: os.kill(os.getpid(), signal.SIGKILL),
    "breaks": lambda _: os.kill(os.getpid(), signal.SIGSEGV),
    "leaves-nothing": lambda _: None,
    "leaves-nonsense": lambda out: (out / "facts.json").write_text("{}"),
    "babbles": lambda _: print("Syntax Warning: nonsense", flush=True),
    "never-ends-its-line": lambda _: print("x" * 10_000_000, flush=True),
    "names-a-limit": names_a_limit,
    "admits-a-fault": admits_a_fault,
}

if __name__ == "__main__":
    BEHAVIOURS[sys.argv[1]](Path(sys.argv[3]))
