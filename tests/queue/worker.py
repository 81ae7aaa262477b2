"""A real worker whose child behaves as each file says: ``python -m tests.queue.worker``."""

from __future__ import annotations

from worker.run import run_worker
from worker.settings import Settings

if __name__ == "__main__":
    run_worker(Settings.from_environment(), reader=("tests.fence.child", "as-the-file-says"))
