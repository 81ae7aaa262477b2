"""The row is the truth: workers killed, messages lost, brokers gone, and every inspection still comes to its end."""

from __future__ import annotations

import os
import signal
import socket
from datetime import timedelta
from pathlib import Path

import pytest

from tests.queue.workshop import Workshop
from worker import queue
from worker.settings import Settings
from worker.store import file_key, measurements_key, report_key
from worker.store.rows import DaysKept

needs_proc = pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="needs Linux's /proc")


@needs_proc
def test_a_worker_killed_in_the_middle_of_a_book(open_workshop: Workshop) -> None:
    """kill -9, the worker's whole process: the next one finishes the book at the second attempt."""
    row = open_workshop.upload(f"hangs-once {open_workshop.settings.data / 'begun'}")
    open_workshop.in_the_middle(row)
    (first,) = open_workshop.workers
    (child,) = _children_of(first.pid)
    first.kill()
    first.wait()
    open_workshop.until(lambda: not _runs(child))  # the fenced child does not outlive its worker
    open_workshop.start_worker()
    done = open_workshop.wait(row, state="done")
    assert done.attempts == 2
    for key in (measurements_key(row.id), report_key(row.id, "json"), report_key(row.id, "html")):
        assert open_workshop.store.bytes.size(key)


@needs_proc
def test_a_worker_killed_while_a_novel_is_read(workshop: Workshop, novel: Path) -> None:
    """The same with the real reader and a book of 720 pages."""
    workshop.start_broker()
    first = workshop.start_worker("worker.run")
    row = workshop.upload(content=novel.read_bytes())
    workshop.until(lambda: workshop.row(row).state == "measuring" and len(_children_of(first.pid)) == 1)
    (child,) = _children_of(first.pid)
    first.kill()
    first.wait()
    workshop.until(lambda: not _runs(child))
    assert not workshop.row(row).finished
    workshop.start_worker("worker.run")
    done = workshop.wait(row, state="done")
    assert (done.attempts, done.progress_done) == (2, 720)


def test_a_file_that_always_kills_its_worker_fails_with_the_reason(workshop: Workshop) -> None:
    workshop.start_broker()
    row = workshop.upload("kills-its-worker")
    after = workshop.upload("works")
    for attempt in range(1, 4):
        worker = workshop.start_worker()
        workshop.until(lambda w=worker: w.poll() is not None)  # type: ignore[misc]
        assert worker.returncode == -signal.SIGKILL
        assert workshop.row(row).attempts == attempt
    workshop.start_worker()
    failed = workshop.wait(row, state="failed")
    assert failed.failure is not None
    assert failed.failure["message"] == "the file stopped the worker three times"
    assert failed.failure["attempt"] == 3
    assert workshop.wait(after, state="done").attempts == 1  # no other inspection is harmed


def test_a_message_that_never_arrived_is_sent_again(open_workshop: Workshop) -> None:
    first = open_workshop.upload("works")
    open_workshop.wait(first, state="done")  # the worker runs, its first sweep is over
    unrung = open_workshop.upload("works", ring=False, content=b"%PDF-1.7 works again")
    open_workshop.wait(unrung, state="done")


def test_an_emptied_broker_loses_nothing(open_workshop: Workshop) -> None:
    blocks = open_workshop.upload("sleeps")
    open_workshop.in_the_middle(blocks)
    waits = open_workshop.upload("works")
    open_workshop.flush_broker()
    assert queue.messages_waiting() == 0
    open_workshop.store.rows.cancel(blocks.id)
    open_workshop.wait(waits, state="done")


def test_no_broker_at_upload_is_no_failed_upload(workshop: Workshop) -> None:
    row = workshop.upload("works", ring=False)
    assert queue.ring(row.id) is False
    assert not queue.broker_answers()
    assert workshop.row(row).state == "queued"
    workshop.start_broker()
    assert queue.broker_answers()
    workshop.start_worker()
    workshop.wait(row, state="done")


def test_a_broker_that_says_nothing_is_not_waited_for(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        url = f"redis://127.0.0.1:{silent.getsockname()[1]}/0"
        queue.configure(Settings.from_environment(tmp_path, {"PRESSWORTHY_BROKER_URL": url}))
        assert queue.messages_waiting() is None
        assert queue.ring("ins_x") is False


def test_a_broker_killed_and_started_again(open_workshop: Workshop) -> None:
    open_workshop.wait(open_workshop.upload("works"), state="done")
    open_workshop.kill_broker()
    row = open_workshop.upload("works", content=b"%PDF-1.7 works later")
    open_workshop.start_broker()
    open_workshop.wait(row, state="done")


def test_a_message_twice_is_work_once(open_workshop: Workshop) -> None:
    row = open_workshop.upload("works")
    for _ in range(5):
        queue.ring(row.id)
    done = open_workshop.wait(row, state="done")
    open_workshop.until(lambda: queue.messages_waiting() == 0)
    assert open_workshop.row(row).attempts == done.attempts == 1


def test_a_worker_asked_to_end_gives_back_what_it_was_doing(open_workshop: Workshop) -> None:
    row = open_workshop.upload(f"hangs-once {open_workshop.settings.data / 'begun'}")
    open_workshop.in_the_middle(row)
    (worker,) = open_workshop.workers
    worker.send_signal(signal.SIGTERM)
    worker.wait(15)
    given_back = open_workshop.row(row)
    assert (given_back.state, given_back.attempts) == ("queued", 0)
    open_workshop.start_worker()
    assert open_workshop.wait(row, state="done").attempts == 1


def test_deleting_a_running_one_leaves_nothing(open_workshop: Workshop) -> None:
    row = open_workshop.upload("sleeps")
    open_workshop.in_the_middle(row)
    assert open_workshop.store.delete(row.id)
    after = open_workshop.upload("works")
    open_workshop.wait(after, state="done")
    assert open_workshop.store.bytes.size(file_key(row.id)) is None
    assert open_workshop.store.bytes.inspections(untouched_for=-5) == [after.id]


def test_what_has_had_its_day_goes(open_workshop: Workshop) -> None:
    kept = open_workshop.upload("works")
    open_workshop.wait(kept, state="done")
    open_workshop.store.rows._kept = DaysKept(*[timedelta(days=-1)] * 3)
    over = open_workshop.upload("works", ring=False)
    open_workshop.store.rows.cancel(over.id)
    open_workshop.until(lambda: open_workshop.store.rows.get(over.id) is None)
    open_workshop.until(lambda: open_workshop.store.bytes.size(file_key(over.id)) is None)
    assert open_workshop.row(kept).state == "done"


def _children_of(pid: int) -> list[int]:
    """The processes that this one has started and that still run."""
    tasks = Path(f"/proc/{pid}/task")
    return [int(child) for task in tasks.iterdir() for child in (task / "children").read_text().split()]


def _runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except (ProcessLookupError, FileNotFoundError):
        return False
