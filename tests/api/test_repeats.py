"""A parameter given more than once is refused in one line, wherever it is taken: no value wins in silence."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.api.books import book, done, form
from tests.api.problem import check_problem
from worker.store import Store

TO = "/v1/inspections"
PDF = "application/pdf"


@pytest.mark.parametrize(
    ("method", "address", "field"),
    [
        ("POST", f"{TO}?profile=ternhaven-mono&profile=ropewalk-offset", "profile"),
        ("POST", f"{TO}?profile=ternhaven-mono&pages=1&pages=2", "pages"),
        ("POST", f"{TO}?profile=ternhaven-mono&title=a&title=a", "title"),
        ("POST", f"{TO}?profile=ternhaven-mono&name=a&name=b", "name"),
        *(
            ("GET", f"{TO}?{name}=1&{name}=1", name)
            for name in ("state", "verdict", "profile", "title", "after", "limit")
        ),
        ("GET", f"{TO}/{{id}}/measurements?lines=1&lines=0", "lines"),
    ],
)
def test_in_the_query(client: FlaskClient, store: Store, method: str, address: str, field: str) -> None:
    row = done(store)
    body: dict[str, Any] = {"data": book(), "content_type": PDF} if method == "POST" else {}
    told = check_problem(client.open(address.format(id=row.id), method=method, **body), 422, "invalid-request")
    assert told["errors"] == [{"field": field, "detail": "It was given more than once; give it once."}]
    assert len(store.rows.page("local").items) == 1


def test_every_address_that_is_described_refuses_them(client: FlaskClient) -> None:
    for path, operations in client.get("/openapi.json").get_json()["paths"].items():
        for method in operations:
            address = f"{path.replace('{page}', '1').replace('{number}', '1')}?odd=1&odd=2"
            check_problem(client.open(address, method=method.upper()), 422, "invalid-request")
    check_problem(client.get("/v1/nothing?odd=1&odd=2"), 404, "not-found")


@pytest.mark.parametrize("field", ["profile", "pages", "title", "name", "file"])
def test_in_a_form(client: FlaskClient, store: Store, field: str) -> None:
    fields = [("profile", "ternhaven-mono")] + [(field, "1")] * (1 if field == "profile" else 2)
    files = [("file", "b.pdf", book())]
    if field == "file":
        fields, files = fields[:1], files * 2
    body, kind = form(fields, files)  # type: ignore[arg-type]
    told = check_problem(client.post(TO, data=body, content_type=kind), 422, "invalid-request")
    assert [each["field"] for each in told["errors"]] == [field]  # type: ignore[attr-defined]
    assert store.rows.page("local").items == []


def test_in_json(client: FlaskClient, store: Store) -> None:
    order = '{"profile": "ternhaven-mono", "profile": "ropewalk-offset"}'
    answer = client.post(f"{TO}/{done(store).id}/judgements", data=order, content_type="application/json")
    told = check_problem(answer, 422, "invalid-request")
    assert str(told["detail"]).startswith("profile: ")
    assert len(store.rows.page("local").items) == 1
