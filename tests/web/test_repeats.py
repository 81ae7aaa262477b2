"""A field given more than once is refused on the pages too, whether a link brings it or a form."""

from __future__ import annotations

import pytest
from werkzeug.datastructures import MultiDict

from tests.web import rows
from tests.web.visit import SMALL_PDF, Page, Visit
from worker.store import Store

LINE = "It was given more than once; give it once."


@pytest.mark.parametrize("address", ["/?title=a&title=b", "/inspections?title=&title=x", "/sign-in?next=/&next=/"])
def test_in_a_link(visit: Visit, address: str) -> None:
    page = visit.get(address, Accept="text/html")
    assert page.status == 422
    assert LINE in page.text


def test_in_a_form_of_an_inspection(visit: Visit, store: Store) -> None:
    row = rows.done(store)
    form = visit.get(f"/inspections/{row.id}").form("/judgements")
    sent = MultiDict([*form.values.items(), ("profile", "ternhaven-mono"), ("profile", "ropewalk-offset")])
    answer = visit.client.post(form.action, data=sent, headers={"Accept": "text/html"})
    assert answer.status_code == 422
    assert f"profile: {LINE}" in Page(answer).text
    assert len(store.rows.page("local").items) == 1


def test_in_the_form_that_sends_a_book(visit: Visit, store: Store) -> None:
    form = visit.get("/").form("/inspections")
    body = b"".join(
        f'--tern\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
        for name, value in [*form.values.items(), ("profile", "ternhaven-mono"), ("profile", "ropewalk-offset")]
    )
    body += b'--tern\r\nContent-Disposition: form-data; name="file"; filename="b.pdf"\r\n\r\n' + SMALL_PDF
    kind = "multipart/form-data; boundary=tern"
    page = Page(visit.client.post(form.action, data=body + b"\r\n--tern--\r\n", content_type=kind))
    assert page.status == 422
    assert f"profile: {LINE}" in page.text
    assert store.rows.page("local").items == []
