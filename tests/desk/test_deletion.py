"""A title that is deleted is gone, from the disk too; deliveries are forgotten in time."""

from __future__ import annotations

import threading
import time
from datetime import timedelta

from flask import Flask

from tests.desk import desk
from tests.web import rows
from tests.web.visit import Visit
from worker.store import LOCAL, NewArrival, Store, file_key
from worker.sweep import Sweep


def test_a_title_goes_with_all_that_belongs_to_it(visit: Visit, store: Store) -> None:
    title, other = desk.title(store), desk.title(store, "Kelp")
    kept, files = desk.inspected(store, other), list[str]()
    for file in (desk.inspected(store, title), desk.submitted(store, title, rows.measuring(store, 1, 2))):
        assert store.bytes.size(file_key(file.inspection_id))
        files.append(file.inspection_id)
    _, secret = store.author_links.make(title.id, LOCAL, days=30)
    page = visit.get(f"/titles/{title.id}/deletion")
    assert "nothing of it can be had back" in page.text
    assert visit.submit(page.form("/deletion")).location == "/titles"
    assert visit.get(f"/titles/{title.id}").status == 404
    assert store.author_links.find(secret) is None
    assert [it.id for it in store.rows.page(LOCAL).items] == [kept.inspection_id]
    assert store.bytes.inspections(untouched_for=-60) == [kept.inspection_id]
    assert [store.bytes.size(file_key(each)) for each in files] == [None, None]
    assert store.titles.submissions(title.id) == []


def test_by_the_api(app: Flask, store: Store) -> None:
    title = desk.title(store)
    desk.inspected(store, title)
    client = app.test_client()
    assert client.delete(f"/v1/titles/{title.id}").status_code == 204
    assert client.delete(f"/v1/titles/{title.id}").status_code == 404
    assert store.rows.page(LOCAL).items == []


def test_a_file_that_no_title_has_is_gone_with_its_name(visit: Visit, store: Store) -> None:
    row = rows.done(store, "The Salt Road")
    delivery = store.arrivals.note(LOCAL, [NewArrival("salt-road-draft.pdf", inspection_id=row.id)])
    assert "salt-road-draft.pdf" in visit.get(f"/take-in/{delivery}").text
    store.delete(row.id)
    page = visit.get(f"/take-in/{delivery}").text
    assert "salt-road-draft.pdf" not in page
    assert "A file that is gone" in page
    assert "It has been deleted, or its days are over." in page


def test_the_sweep_forgets_old_deliveries(app: Flask, store: Store) -> None:
    delivery = store.arrivals.note(LOCAL, [NewArrival("a.docx", refusal="The file is not a PDF.")])
    stopping = threading.Event()
    sweep = Sweep(store, stopping, lease_seconds=0.6, deliveries_kept=timedelta(0))
    sweep.start()
    until = time.monotonic() + 60
    while store.arrivals.of_delivery(delivery, LOCAL) and time.monotonic() < until:
        time.sleep(0.05)
    stopping.set()
    sweep.join()
    assert store.arrivals.of_delivery(delivery, LOCAL) == []
