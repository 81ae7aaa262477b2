"""Names that strangers give their files, in all that can be downloaded: one `Content-Disposition`, an attachment, whose
name has no path, no line end and nothing that turns the line about (RFC 6266, sections 4.3 and 5; RFC 8187; RFC 9110,
section 5.5). The header is read by the standard library's own parser."""

from __future__ import annotations

import unicodedata
from email.message import Message
from urllib.parse import unquote

import pytest
from flask.testing import FlaskClient

from tests.api import books
from worker.store import Inspection, Store, proof_key

TO = "/v1/inspections"
NAMES = {
    "folders": "../../../etc/passwd",
    "folders of another system": "..\\..\\windows\\system32\\a.pdf",
    "an absolute path": "/etc/ssh/authorized_keys",
    "a zero": "a\x00b.pdf",
    "a header": "a\r\nSet-Cookie: x=1\r\n\r\n<script>.pdf",
    "a bare line end": "a\nX-Evil: 1",
    "separators": "a\u2028b\u2029c\x85d.pdf",
    "quotes": 'a"; filename="evil.exe',
    "a backslash": "a\\",
    "turned about": "a\u202egpj.exe\u2066\u2069.pdf",
    "not shown": "\u200b\ufeff\u200d.pdf",
    "half a sign": "a\ud800b.pdf",
    "other scripts": "книга 本 كتاب 🦭.pdf",
    "dots": "..",
    "nothing": "",
    "spaces": "   ",
    "a device": "CON.pdf",
    "percent": "%2e%2e%2f%00.pdf",
    "very long": "x" * 10_000 + ".pdf",
    "very long, other scripts": "本" * 10_000,
    "an option": "--output=evil",
}


def _kept(store: Store, client: FlaskClient, name: str) -> Inspection:
    """An inspection whose file came under this name, as both doors let it in; done."""
    sent = client.post(f"{TO}?profile=ternhaven-mono", data=books.book(), content_type="application/pdf")
    assert sent.status_code == 202
    done = books.done(store)
    with store._database.write() as session:  # as if it had come past every check
        row = session.merge(done)
        row.file_name = name.encode("utf-8", "replace").decode().replace("\x00", "\ufffd")
    found = store.rows.get(done.id)
    assert found is not None
    store.bytes.write(proof_key(found.id), b"%PDF- a proof")
    return found


def _check(disposition: str) -> None:
    parsed = Message()
    parsed["Content-Disposition"] = disposition
    assert parsed.get_content_disposition() == "attachment"
    name = unquote(str(parsed.get_filename()))
    assert name
    assert name not in {".", ".."}
    for text in (disposition, name):
        assert not [sign for sign in text if unicodedata.category(sign) in {"Cc", "Cf", "Cs", "Zl", "Zp"}], repr(name)
    assert not set("/\\") & set(name), repr(name)
    assert len(disposition) < 4_000  # within what servers and proxies take of one header


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_whatever_is_downloaded_has_a_safe_name(client: FlaskClient, store: Store, name: str) -> None:
    row = _kept(store, client, name)
    _, secret = store.shares.make(row, days=3)
    here = (f"/inspections/{row.id}", f"/shared/{secret}")
    addresses = [f"{place}/{part}" for place in here for part in ("report.json", "proof.pdf")]
    addresses += [f"{TO}/{row.id}/proof.pdf", f"/inspections/{row.id}/measurements.json"]
    for address in addresses:
        answer = client.get(address)
        assert answer.status_code == 200, address
        (disposition,) = answer.headers.getlist("Content-Disposition")
        _check(disposition)
        assert "X-Evil" not in answer.headers
        assert "Set-Cookie" not in answer.headers


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
@pytest.mark.parametrize("way", ["query", "form"])
def test_a_name_that_is_sent_is_refused_or_kept_as_text(client: FlaskClient, name: str, way: str) -> None:
    name = name.encode("utf-8", "replace").decode()
    if way == "query":
        query = {"profile": "ternhaven-mono", "name": name}
        answer = client.post(TO, query_string=query, data=books.book(), content_type="application/pdf")
    else:
        body, kind = books.form({"profile": "ternhaven-mono"}, [("file", name, books.book())])
        answer = client.post(TO, data=body, content_type=kind)
    assert answer.status_code in {202, 400, 422}
    if answer.status_code == 202:
        kept = answer.get_json()["file"]["name"]
        assert len(kept) <= 255
        assert "/" not in kept
        assert not [sign for sign in kept if unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"}]


FIELDS = {"title": 301, "name": 1001, "profile": 101, "against": 101, "pages": 20}


@pytest.mark.parametrize(("field", "size"), FIELDS.items())
@pytest.mark.parametrize("more", [1, 10_000])
def test_fields_that_are_too_long_are_refused(
    client: FlaskClient, store: Store, field: str, size: int, more: int
) -> None:
    fields = {"profile": "ternhaven-mono"} | {field: "9" * (size * more if more == 1 else more)}
    body, kind = books.form(fields, [("file", "a.pdf", books.book())])
    answer = client.post(TO, data=body, content_type=kind)
    assert answer.status_code in {404, 413, 422}, answer.text
    assert store.rows.page("local").items == []
