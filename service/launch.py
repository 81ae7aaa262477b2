"""What a server of ours runs first: it sees to it that it ends with us, then becomes the server.

::

    python -m service.launch OUR_PROCESS_ID PROGRAM ARGUMENTS…
"""

from __future__ import annotations

import os
import signal
import sys

from worker.confine import die_with


def main() -> None:
    """The child's entry; see the module's own words."""
    die_with(int(sys.argv[1]), by=signal.SIGTERM)
    os.execvp(sys.argv[2], sys.argv[2:])  # noqa: S606 - no shell is wanted


if __name__ == "__main__":
    main()
