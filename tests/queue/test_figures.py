"""What a worker that was started by itself tells Prometheus: each ending once, and limits by their names."""

from __future__ import annotations

import socket
import urllib.request
from contextlib import suppress

from prometheus_client.parser import text_string_to_metric_families

from tests.queue.workshop import Workshop

Figures = dict[tuple[str, str], float]


def _figures(port: int) -> Figures:
    """Samples by their names and the one label that they have; none while nobody answers."""
    found: Figures = {}
    with suppress(OSError), urllib.request.urlopen(f"http://127.0.0.1:{port}/metrics", timeout=10) as answer:
        for family in text_string_to_metric_families(answer.read().decode()):
            for sample in family.samples:
                found[sample.name, "".join(sample.labels.values())] = sample.value
    return found


def test_each_ending_is_counted(workshop: Workshop) -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    workshop.environment["PRESSWORTHY_METRICS_PORT"] = str(port)
    workshop.start_broker()
    workshop.start_worker()
    for behaviour, state in (("works", "done"), ("names-a-limit", "failed"), ("breaks", "failed")):
        workshop.wait(workshop.upload(behaviour), state=state)
    running = workshop.upload("sleeps")
    workshop.in_the_middle(running)
    workshop.store.rows.cancel(running.id)
    outcomes, children = "pressworthy_inspections_total", "pressworthy_children_ended_total"
    workshop.until(lambda: (outcomes, "cancelled") in _figures(port))
    told = _figures(port)
    counted = {label: value for (name, label), value in told.items() if name == outcomes}
    assert {"limit": 1, "reader": 1, "cancelled": 1}.items() <= counted.items()
    assert sum(counted.values()) == 4
    assert told[children, "fault"] == 1
    assert sum(value for (name, _), value in told.items() if name == children) == 2
    assert told["pressworthy_measuring_seconds_count", ""] == 4
    assert not [name for name, _ in told if name.startswith("pressworthy_queue")], "one process alone tells it"
