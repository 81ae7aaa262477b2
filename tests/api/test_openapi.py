"""The description is valid OpenAPI (openapi-spec-validator), complete, and true of what is answered (jsonschema)."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate

from tests.api import books
from worker.callbacks.message import body_of
from worker.callbacks.signing import signed_headers
from worker.store import Store

TO = "/v1/inspections"


@pytest.fixture
def document(client: FlaskClient) -> dict[str, Any]:
    found: dict[str, Any] = client.get("/openapi.json").get_json()
    return found


def _operations(document: dict[str, Any]) -> dict[tuple[str, str], dict[str, Any]]:
    return {
        (path, method.upper()): operation
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    }


def test_it_is_valid(document: dict[str, Any]) -> None:
    validate(document)
    major, minor, _ = (int(part) for part in document["openapi"].split("."))
    assert (major, minor) >= (3, 1)


def test_every_address_is_described_and_nothing_else(client: FlaskClient, document: dict[str, Any]) -> None:
    rules = [rule for rule in client.application.url_map.iter_rules() if rule.rule.startswith(("/v1/", "/problems/"))]
    served = {
        (re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule), method)
        for rule in rules
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    assert served == set(_operations(document))
    assert len(served) >= 17


def test_every_call_of_the_contract_is_there(document: dict[str, Any]) -> None:
    one = f"{TO}/{{id}}"
    assert {
        (TO, "POST"),
        (TO, "GET"),
        (one, "GET"),
        (one, "DELETE"),
        (f"{one}/report", "GET"),
        (f"{one}/measurements", "GET"),
        (f"{one}/pages/{{page}}.png", "GET"),
        (f"{one}/proof.pdf", "GET"),
        (f"{one}/judgements", "POST"),
        (f"{one}/cancellation", "POST"),
        (f"{one}/deliveries", "GET"),
        (f"{one}/deliveries/{{delivery}}/repetition", "POST"),
        ("/v1/callback-secret", "GET"),
        ("/v1/profiles", "GET"),
        ("/v1/profiles/{id}", "GET"),
        ("/v1/health", "GET"),
        ("/v1/ready", "GET"),
        ("/v1/limits", "GET"),
    } <= set(_operations(document))


def test_every_operation_has_its_words_its_problems_and_its_security(document: dict[str, Any]) -> None:
    operations = _operations(document)
    assert len({operation["operationId"] for operation in operations.values()}) == len(operations)
    for (path, method), operation in operations.items():
        assert operation["summary"], (path, method)
        bad = {status for status in operation["responses"] if status >= "400"}
        assert "500" in bad, (path, method)
        for status in bad - {"503"}:
            (media,) = operation["responses"][status]["content"]
            assert media == "application/problem+json", (path, method, status)
            assert operation["responses"][status]["content"][media]["examples"]
        assert ("401" in bad) == bool(operation.get("security")), (path, method)
    assert document["components"]["securitySchemes"]["accessToken"]["scheme"] == "bearer"


def test_every_problem_that_an_example_shows_is_explained(client: FlaskClient, document: dict[str, Any]) -> None:
    shown = {
        example["value"]["type"]
        for operation in _operations(document).values()
        for answer in operation["responses"].values()
        for name, media in answer.get("content", {}).items()
        for example in media.get("examples", {}).values()
        if name == "application/problem+json"
    }
    assert len(shown) > 20
    for address in shown:
        assert client.get(address).status_code == 200


def test_types_of_one_name_are_told_apart(document: dict[str, Any]) -> None:
    schemas = document["components"]["schemas"]
    assert not [name for name in schemas if "__" in name]
    page = schemas["Page"]["properties"]["margins"]["anyOf"][0]["$ref"].rpartition("/")[2]
    printer = schemas["Interior"]["properties"]["margins"]["$ref"].rpartition("/")[2]
    assert set(schemas[page]["properties"]) == {"inside", "outside", "head", "foot"}
    assert page != printer


def test_a_callers_mistakes_can_be_told_from_the_description(document: dict[str, Any]) -> None:
    """Each parameter says what it is, and a number its bounds."""
    for call, operation in _operations(document).items():
        for parameter in operation["parameters"]:
            assert parameter.get("description") or "$ref" in parameter["schema"], (call, parameter["name"])
    sent = document["components"]["schemas"]
    for name, member in (("JudgementOrder", "pages"), ("UploadFields", "pages"), ("TitleGiven", "expected_pages")):
        number = sent[name]["properties"][member]["anyOf"][0]
        assert (number["minimum"], number["maximum"]) == (1, 99_999)


def test_every_example_is_as_described(document: dict[str, Any]) -> None:
    """And there is one of each body, sent or answered, that is not a file or a page."""
    checked = 0
    for call, operation in _operations(document).items():
        for body in (*operation["responses"].values(), operation.get("requestBody", {})):
            for kind, media in body.get("content", {}).items():
                whole = {"components": document["components"], **media["schema"]}
                examples = [each["value"] for each in media.get("examples", {}).values()]
                examples += [media["example"]] if "example" in media else []
                assert examples or not kind.endswith("json"), (call, kind)
                for example in examples:
                    Draft202012Validator(whole).validate(example)
                    checked += 1
    assert checked > 100


def test_the_call_that_is_made_is_as_described(store: Store, document: dict[str, Any]) -> None:
    """Of each end that an inspection may come to."""
    asked = document["webhooks"]["inspectionEnded"]["post"]
    media = asked["requestBody"]["content"]["application/json"]
    whole = Draft202012Validator({"components": document["components"], **media["schema"]})
    cancelled = store.rows.cancel(books.queued(store).id)
    assert cancelled is not None
    said = [json.loads(body_of(row)) for row in (books.done(store), cancelled)]
    for message in (*said, *(each["value"] for each in media["examples"].values())):
        whole.validate(message)
    assert [message["type"] for message in said] == ["inspection.done", "inspection.cancelled"]
    sent = signed_headers("whsec_" + "A" * 43 + "=", "dlv", datetime.now(UTC), "{}")
    assert {parameter["name"] for parameter in asked["parameters"]} == set(sent)


def _check(document: dict[str, Any], operation: tuple[str, str], answer: Any) -> None:
    described = _operations(document)[operation]["responses"][str(answer.status_code)]
    schema = described["content"][answer.mimetype]["schema"]
    whole = {"components": document["components"], **schema}
    Draft202012Validator(whole).validate(answer.get_json(force=True))


def test_what_is_answered_is_as_described(client: FlaskClient, store: Store, document: dict[str, Any]) -> None:
    row, waits = books.done(store), books.queued(store)
    one = f"{TO}/{{id}}"
    calls = [
        ("GET", TO, TO),
        ("GET", one, f"{TO}/{row.id}"),
        ("GET", one, f"{TO}/{waits.id}"),
        ("GET", f"{one}/report", f"{TO}/{row.id}/report"),
        ("GET", f"{one}/report.json", f"{TO}/{row.id}/report.json"),
        ("GET", f"{one}/measurements", f"{TO}/{row.id}/measurements?lines=1"),
        ("GET", f"{one}/measurements", f"{TO}/{row.id}/measurements"),
        ("GET", f"{one}/report", f"{TO}/{waits.id}/report"),
        ("POST", f"{one}/cancellation", f"{TO}/{waits.id}/cancellation"),
        ("GET", f"{one}/deliveries", f"{TO}/{row.id}/deliveries"),
        ("GET", "/v1/callback-secret", "/v1/callback-secret"),
        ("GET", "/v1/profiles", "/v1/profiles"),
        ("GET", "/v1/profiles/{id}", "/v1/profiles/ropewalk-offset"),
        ("GET", "/v1/profiles/{id}", "/v1/profiles/nobody"),
        ("GET", "/v1/health", "/v1/health"),
        ("GET", "/v1/ready", "/v1/ready"),
        ("GET", "/v1/limits", "/v1/limits"),
        ("GET", "/problems/{slug}", "/problems/fault"),
    ]
    for method, path, address in calls:
        _check(document, (path, method), client.open(address, method=method))
    judged = client.post(f"{TO}/{row.id}/judgements", json={"profile": "common-paperback"})
    _check(document, (f"{one}/judgements", "POST"), judged)
    sent = client.post(f"{TO}?profile=common-paperback", data=books.book(), content_type="application/pdf")
    _check(document, (TO, "POST"), sent)
    asked = {"profile": "common-paperback", "callback_url": "https://desk.tern-island.example/"}
    called = client.post(TO, query_string=asked, data=books.book(), content_type="application/pdf").get_json()
    client.post(f"{TO}/{called['id']}/cancellation")
    deliveries = client.get(f"{TO}/{called['id']}/deliveries")
    _check(document, (f"{one}/deliveries", "GET"), deliveries)
    repeated = client.post(deliveries.get_json()["deliveries"][0]["repetition"])
    _check(document, (f"{one}/deliveries/{{delivery}}/repetition", "POST"), repeated)
