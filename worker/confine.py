"""What the fenced child runs first: it limits itself, then becomes the module that reads the file.

::

    python -m worker.confine '{"seconds": 60, "memory": …, "open_files": 64, "file_size": …, "parent": 4711}' MODULE …

Only the standard library is loaded before the limits hold. The parent's own limits are not touched, and nothing is done
between fork and exec, which is not safe in a process with threads.
"""

from __future__ import annotations

import ctypes
import faulthandler
import json
import os
import resource
import runpy
import signal
import sys

from worker.collecting import collect_seldom

GRACE_SECONDS = 5
"""Between SIGXCPU and SIGKILL, for a child that does not mind the first."""

LIMIT_STATUS = 3
"""Exit status of a child that met a limit and says which on its last line."""

_PR_SET_PDEATHSIG = 1


def limit_self(seconds: int, memory: int, open_files: int, file_size: int) -> None:
    """Limit this process and its children: processor seconds, bytes of address space, files, bytes of one file."""
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + GRACE_SECONDS))
    resource.setrlimit(resource.RLIMIT_NOFILE, (open_files, open_files))
    resource.setrlimit(resource.RLIMIT_FSIZE, (file_size, file_size))
    if sys.platform.startswith("linux"):  # elsewhere the system takes the limit and does not keep it, or refuses
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))


def die_with(parent: int, by: signal.Signals = signal.SIGKILL) -> None:
    """End by that signal when the parent ends, however it ends, where the system can do that (Linux)."""
    if sys.platform.startswith("linux"):
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, by, 0, 0, 0)
    if os.getppid() != parent:
        sys.exit("the process that asked has ended")


def main() -> None:
    """The child's entry; see the module's own words."""
    faulthandler.enable()  # what a crash was in goes to standard error, and so to the parent's log
    limits = json.loads(sys.argv[1])
    die_with(limits.pop("parent"))
    limit_self(**limits)
    collect_seldom()
    module = sys.argv[2]
    sys.argv = sys.argv[2:]
    try:
        runpy.run_module(module, run_name="__main__", alter_sys=True)
    except MemoryError:
        sys.stdout.write('{"limit": "memory"}\n')
        sys.exit(LIMIT_STATUS)


if __name__ == "__main__":
    main()
