"""How the service stands, in words: for the terminal, and as rows for the page."""

from __future__ import annotations

from dataclasses import dataclass

from worker.judge.models import Verdict
from worker.limits import show_bytes
from worker.standing import EndedSince, Kept, Queue, Standing, WorkerSeen
from worker.words import told

__all__ = ["Row", "Section", "sections_of", "standing_text"]

NO_BROKER = "The broker does not answer"
FAILURES = {
    "limit": "No report: past a limit",
    "reader": "No report: the reader failed",
    "worker-stopped": "No report: it stopped the worker",
    "file-gone": "No report: the file was gone",
    "fault": "No report: a fault of the service",
}


@dataclass(frozen=True)
class Row:
    """One thing, and how it stands."""

    name: str
    value: str


@dataclass(frozen=True)
class Section:
    """Rows under a heading; ``empty`` is said where there are none."""

    heading: str
    rows: tuple[Row, ...]
    empty: str = ""


def sections_of(standing: Standing) -> tuple[Section, ...]:
    """All there is to say, in order."""
    return (
        Section("Queue", _queue(standing.queue)),
        _workers(standing.workers),
        Section("Kept", _kept(standing.kept)),
        Section("Ended in the last day", _ended(standing.last_day), "No inspection"),
        Section("Ended in the last seven days", _ended(standing.last_week), "No inspection"),
    )


def standing_text(standing: Standing) -> str:
    """For a terminal: names on the left, figures beside them."""
    sections = sections_of(standing)
    width = max(len(row.name) for section in sections for row in section.rows)
    lines = [f"{standing.at:%Y-%m-%d %H:%M} UTC"]
    for section in sections:
        lines += ["", section.heading]
        lines += [f"  {row.name:{width}}  {row.value}" for row in section.rows] or [f"  {section.empty}"]
    return "\n".join(lines)


def _queue(queue: Queue) -> tuple[Row, ...]:
    oldest = "–" if queue.oldest_seconds is None else _for(queue.oldest_seconds)
    messages = NO_BROKER if queue.messages is None else str(queue.messages)
    return (
        Row("Waiting", str(queue.waiting)),
        Row("The first has waited", oldest),
        Row("Measured or judged now", str(queue.running)),
        Row("Messages at the broker", messages),
    )


def _workers(workers: tuple[WorkerSeen, ...] | None) -> Section:
    if workers is None:
        return Section("Workers", (), NO_BROKER)
    rows = tuple(
        Row(
            f"{each.host}, process {each.process}",
            f"{each.taken} of {each.places} places taken, up since {each.since:%Y-%m-%d %H:%M} UTC, "
            f"heard {_for(each.seen_seconds_ago)} ago",
        )
        for each in workers
    )
    return Section("Workers", rows, "No worker is alive: nothing is inspected until one is")


def _kept(kept: Kept) -> tuple[Row, ...]:
    free = () if kept.bytes_free is None else (Row("Free on the disk", show_bytes(kept.bytes_free)),)
    return (
        Row("Inspections", str(kept.inspections)),
        Row("Files, reports and pictures", f"{kept.objects}, together {show_bytes(kept.bytes)}"),
        *free,
    )


def _ended(ended: EndedSince) -> tuple[Row, ...]:
    known = {verdict.value: told(f"verdict.{verdict.value}.heading") for verdict in Verdict}
    rows = [Row(words, str(ended.verdicts[value])) for value, words in known.items() if value in ended.verdicts]
    rows += [Row(FAILURES.get(code, f"No report: {code}"), str(count)) for code, count in ended.failures.items()]
    rows += [Row("Stopped by their owners", str(ended.cancelled))] if ended.cancelled else []
    return tuple(rows)


def _for(seconds: float) -> str:
    """A span of time as people say it, in its two largest units."""
    whole = int(seconds)
    parts = [(whole // 86400, "d"), (whole // 3600 % 24, "h"), (whole // 60 % 60, "min"), (whole % 60, "s")]
    first = next((at for at, (count, _) in enumerate(parts) if count), len(parts) - 1)
    return " ".join(f"{count} {unit}" for count, unit in parts[first : first + 2])
