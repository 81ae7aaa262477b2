"""The main job over HTTP: a real gunicorn, a real Celery worker, a real Valkey, real books.

What is wrong with the sample books is written down beside them (``sample_pdfs/README.md``); the geometry of the others
is that of the page description that makes them (points of 1/72 in, ISO 32000-1, 8.3.2.3).
"""

from __future__ import annotations

import io
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import httpx
import pikepdf
import pytest
from PIL import Image

from tests.api.books import INCH, book
from tests.api.server import serving
from tests.house import House
from tests.queue.workshop import Workshop

TO = "/v1/inspections"
PATIENCE = 90
"""Seconds after which a test gives up waiting; far more than a small book takes."""


class Caller(httpx.Client):
    """A program that uses the API."""

    def upload(self, content: bytes, name: str, profile: str, **fields: str) -> dict[str, object]:
        """Send a form, wait as the API lets one wait, and give the inspection once it has ended."""
        files = {"file": (name, content, "application/pdf")}
        answer = self.post(TO, data={"profile": profile} | fields, files=files, headers={"Prefer": "wait=30"})
        assert answer.status_code in {201, 202}, answer.text
        return self.ended(answer.headers["Location"])

    def ended(self, address: str) -> dict[str, object]:
        """The inspection once it has ended."""
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            told: dict[str, object] = self.get(address, headers={"Prefer": "wait=30"}).json()
            if told["state"] in {"done", "failed", "cancelled"}:
                return told
        raise AssertionError(f"not ended within {PATIENCE} seconds: {told}")


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory, house: House) -> Iterator[Workshop]:
    """A broker and a worker that measures for real."""
    data = tmp_path_factory.mktemp("data")
    with house.furnished(data) as kept_in:
        made = Workshop.at(data, kept_in)
        made.start_broker()
        made.start_worker("worker.run")
        yield made
        made.close()


@pytest.fixture(scope="module")
def caller(workshop: Workshop) -> Iterator[Caller]:
    """A program that calls the web service beside them."""
    with (
        serving(workshop.settings.data, **workshop.kept_in) as web,
        Caller(base_url=f"http://127.0.0.1:{web.port}", timeout=PATIENCE) as found,
    ):
        yield found


@pytest.fixture(scope="module")
def harbour(caller: Caller, sample_pdfs: Path) -> dict[str, object]:
    """The inspection of a sample book with many flaws."""
    return caller.upload((sample_pdfs / "second-harbour.pdf").read_bytes(), "second-harbour.pdf", "common-paperback")


def _rules(report: dict[str, object]) -> set[str]:
    return {finding["rule"] for finding in report["findings"]}  # type: ignore[attr-defined]


def test_everything_answers(caller: Caller) -> None:
    told = caller.get("/v1/ready")
    assert (told.status_code, told.json()) == (
        200,
        {"ready": True, "broker": "answers", "database": "answers", "store": "answers"},
    )


def test_a_book_goes_in_and_a_report_comes_out(caller: Caller, harbour: dict[str, object]) -> None:
    assert (harbour["state"], harbour["verdict"]) == ("done", "not-pressworthy")
    report = caller.get(f"{TO}/{harbour['id']}/report", headers={"Accept": "application/json"}).json()
    assert report["verdict"] == "not-pressworthy"
    assert {"mixed-page-sizes", "font-not-embedded", "link-annotation"} <= _rules(report)
    assert harbour["progress"] == {"done": report["pages"], "total": report["pages"]}
    page = caller.get(f"{TO}/{harbour['id']}/report", headers={"Accept": "text/html"})
    assert page.headers["Content-Type"].startswith("text/html")
    assert "Not pressworthy" in page.text


def test_margins_are_where_the_book_was_set(caller: Caller) -> None:
    """Text begins an inch from the left edge: inside on a recto, outside on a verso."""
    told = caller.upload(book(4, indent=1.0), "long-mole.pdf", "ternhaven-mono", title="The Long Mole")
    assert (told["state"], told["title"]) == ("done", "The Long Mole")
    measured = caller.get(f"{TO}/{told['id']}/measurements").json()
    for page in measured["pages"]:
        side = "inside" if page["page"] % 2 else "outside"
        assert page["margins"][side] == pytest.approx(INCH, abs=0.5)
        assert page["trim"] == [0, 0, 6 * INCH, 9 * INCH]


def test_a_narrow_margin_is_found_on_the_pages_that_have_it(caller: Caller) -> None:
    told = caller.upload(book(4, indent=0.1), "narrow.pdf", "ternhaven-mono")
    findings = caller.get(f"{TO}/{told['id']}/report.json").json()["findings"]
    touched = {finding["rule"]: finding["pages"] for finding in findings}
    assert touched["inside-margin"] == [1, 3]
    assert touched["outside-margin"] == [2, 4]


def test_pages_are_drawn_to_their_shape(caller: Caller, harbour: dict[str, object]) -> None:
    boxes = {page["page"]: page["media"] for page in caller.get(f"{TO}/{harbour['id']}/measurements").json()["pages"]}
    for page in (1, max(boxes)):
        answer = _picture(caller, f"{TO}/{harbour['id']}/pages/{page}.png")
        with Image.open(io.BytesIO(answer.content)) as drawn:
            x0, y0, x1, y1 = boxes[page]
            assert drawn.format == "PNG"
            assert drawn.width / drawn.height == pytest.approx((x1 - x0) / (y1 - y0), rel=0.02)


def _picture(caller: Caller, address: str) -> httpx.Response:
    """A picture that can be drawn."""
    answer = _settled(caller, address)
    assert answer.status_code == 200, answer.text
    return answer


def _settled(caller: Caller, address: str) -> httpx.Response:
    """What is answered in the end, asked for again while it is being drawn."""
    until = time.monotonic() + PATIENCE
    while (answer := caller.get(address)).status_code == 503:
        assert time.monotonic() < until, answer.text
        time.sleep(float(answer.headers["Retry-After"]) / 10)
    return answer


def test_the_proof_is_the_book_with_its_findings_as_notes(caller: Caller, harbour: dict[str, object]) -> None:
    """Read back by pikepdf: the pages are as many as the book's and some before them; the notes have the titles."""
    answer = _settled(caller, f"{TO}/{harbour['id']}/proof.pdf")
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "application/pdf")
    report = caller.get(f"{TO}/{harbour['id']}/report.json").json()
    with pikepdf.open(io.BytesIO(answer.content)) as proof:
        assert len(proof.pages) > report["pages"]
        noted = {str(note.T) for page in proof.pages for note in page.obj.get("/Annots", []) if "/OC" in note}
    assert noted == {f"{number}. {finding['title']}" for number, finding in enumerate(report["findings"], 1)}


def test_a_page_that_cannot_be_drawn_is_said_to_be_so_for_good(caller: Caller) -> None:
    """The page tree says one page fewer than there are; PDFium, which draws, believes it (see tests/queue)."""
    told = caller.upload(book(3).replace(b"/Count 3", b"/Count 2"), "curtailed.pdf", "ternhaven-mono")
    address = f"{TO}/{told['id']}/pages/3.png"
    assert (told["state"], told["progress"]["total"]) == ("done", 3)  # type: ignore[index]
    answer = _settled(caller, address)
    assert (answer.status_code, answer.json()["type"]) == (404, "/problems/page-cannot-be-drawn")
    assert caller.get(address).json() == answer.json()
    assert caller.get(f"{TO}/{told['id']}/report.html").status_code == 200
    assert _picture(caller, f"{TO}/{told['id']}/pages/2.png").content


def test_another_printer_judges_the_same_measurements(
    caller: Caller, harbour: dict[str, object], workshop: Workshop
) -> None:
    answer = caller.post(f"{TO}/{harbour['id']}/judgements", json={"profile": "ropewalk-offset"})
    assert answer.status_code == 201
    told = answer.json()
    assert told["report"]["profile"]["id"] == told["profile"] == "ropewalk-offset"
    assert caller.get(f"{TO}/{told['id']}/report.json").json() == told["report"]
    assert _picture(caller, f"{TO}/{told['id']}/pages/1.png").headers["Content-Type"] == "image/png"
    row = workshop.store.rows.get(told["id"])
    assert row is not None
    assert row.attempts == 0  # no worker had it in hand


def test_judging_again_comes_out_as_a_new_upload_does(caller: Caller, sample_pdfs: Path) -> None:
    content = (sample_pdfs / "keeper-of-the-low-light.pdf").read_bytes()
    first = caller.upload(content, "keeper.pdf", "common-paperback")
    fresh = caller.upload(content, "keeper.pdf", "skerrylight-colour")
    again = caller.post(f"{TO}/{first['id']}/judgements", json={"profile": "skerrylight-colour"}).json()
    reports = [caller.get(f"{TO}/{it['id']}/report.json").json() for it in (fresh, again)]
    assert reports[0] == reports[1]


def test_a_file_that_no_reader_can_open_is_an_answer(caller: Caller, sample_pdfs: Path) -> None:
    whole = (sample_pdfs / "keeper-of-the-low-light.pdf").read_bytes()
    told = caller.upload(b"%PDF-1.7\n" + bytes(reversed(whole)), "damaged.pdf", "ternhaven-mono")
    assert (told["state"], told["verdict"]) == ("done", "not-pressworthy")
    assert _rules(caller.get(f"{TO}/{told['id']}/report.json").json()) == {"damaged-file"}
    assert caller.get(f"{TO}/{told['id']}/pages/1.png").status_code == 404


def test_markup_in_a_name_is_text(caller: Caller) -> None:
    told = caller.upload(
        book(3), "<img src=x onerror=alert(1)>.pdf", "ternhaven-mono", title="<script>alert(1)</script>"
    )
    page = caller.get(f"{TO}/{told['id']}/report.html").text
    assert "<script>alert" not in page
    assert "<img src=x" not in page


def test_a_cancelled_one_stays_so_and_a_deleted_one_is_gone(caller: Caller) -> None:
    long_one = caller.post(
        f"{TO}?profile=ternhaven-mono", content=book(3000), headers={"Content-Type": "application/pdf"}
    ).json()
    answer = caller.post(f"{TO}/{long_one['id']}/cancellation")
    assert (answer.status_code, answer.json()["state"]) == (200, "cancelled")
    assert caller.get(f"{TO}/{long_one['id']}/report").status_code == 409
    assert caller.delete(f"{TO}/{long_one['id']}").status_code == 204
    assert caller.get(f"{TO}/{long_one['id']}").status_code == 404
    assert long_one["id"] not in {it["id"] for it in caller.get(TO).json()["inspections"]}


def test_what_comes_while_the_worker_is_gone_is_seen_to_by_the_next(tmp_path: Path, house: House) -> None:
    with ExitStack() as stack:
        kept_in = stack.enter_context(house.furnished(tmp_path))
        workshop = Workshop.at(tmp_path, kept_in)
        stack.callback(workshop.close)
        workshop.start_broker()
        web = stack.enter_context(serving(tmp_path, **kept_in))
        caller = stack.enter_context(Caller(base_url=f"http://127.0.0.1:{web.port}", timeout=PATIENCE))
        headers = {"Content-Type": "application/pdf"}
        told = [caller.post(f"{TO}?profile=ternhaven-mono", content=book(3), headers=headers) for _ in range(2)]
        assert [it.status_code for it in told] == [202, 202]
        assert [it.json()["position"] for it in told] == [1, 2]
        workshop.start_worker("worker.run")
        for it in told:
            assert caller.ended(it.headers["Location"])["state"] == "done"
