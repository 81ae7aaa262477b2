"""Several files at once: each is taken or refused by itself, and goes to its title where that is sure.

Forms are those of RFC 7578; tricks in file names are those of the OWASP cheat sheet on file upload (from memory).
"""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from service.app import create_app
from service.web.forgery import FIELD
from tests.api import books
from tests.desk import desk
from tests.web import rows
from tests.web.visit import SMALL_PDF, Page, Visit
from worker.keeping import keep_reading
from worker.limits import Limits, Quota
from worker.profiles import Profile
from worker.reading import reading_of
from worker.reporting import finished, keep_report
from worker.settings import Settings
from worker.store import LOCAL, Arrival, Inspection, Store, Title

File = tuple[str, bytes]


def _send(visit: Visit, *files: File) -> TestResponse:
    form = visit.get("/take-in").form("/take-in")
    parts = [(BytesIO(content), name) for name, content in files]
    return visit.client.post(form.action, data=form.values | {"file": parts}, content_type="multipart/form-data")


def _delivered(store: Store, answer: TestResponse) -> list[Arrival]:
    assert answer.status_code == 303
    return store.arrivals.of_delivery(answer.location.rpartition("/")[2], LOCAL)


def _row(store: Store, arrival: Arrival) -> Inspection:
    row = store.rows.get(arrival.inspection_id or "")
    assert row is not None
    return row


def _inspect(store: Store, row: Inspection, content: bytes) -> None:
    """What a worker would do, without its fence."""
    claimed = store.rows.claim(row.id)
    assert claimed is not None
    known = keep_reading(store, row.id, reading_of(books.measured(content)), books.WHEN)
    report = keep_report(store, row.id, known, Profile.model_validate_json(row.profile_json))
    assert store.rows.finish(claimed, finished(report, known.facts))


def test_one_bad_file_loses_none_of_the_others(visit: Visit, store: Store) -> None:
    two = SMALL_PDF + b" "
    answer = _send(visit, ("one.pdf", SMALL_PDF), ("notes.docx", b"PK"), ("two.pdf", two), ("nothing.pdf", b""))
    arrived = _delivered(store, answer)
    assert [it.file_name for it in arrived] == ["one.pdf", "notes.docx", "two.pdf", "nothing.pdf"]
    assert [bool(it.refusal) for it in arrived] == [False, True, False, True]
    assert [row.bytes for row in store.rows.page(LOCAL).items] == [len(SMALL_PDF) + 1, len(SMALL_PDF)]
    page = visit.get(answer.location)
    assert "The file is not a PDF" in page.text
    assert "The file is empty" in page.text
    assert len(page.all("select")) == 2


def test_one_that_is_too_large_is_read_past(settings: Settings, store: Store) -> None:
    small = Settings(**vars(settings) | {"limits": Limits(bytes=1000)})
    visit = Visit(create_app(small).test_client())
    large = b"%PDF-1.4" + bytes(2500)
    arrived = _delivered(store, _send(visit, ("one.pdf", SMALL_PDF), ("large.pdf", large), ("two.pdf", SMALL_PDF)))
    assert [bool(it.refusal) for it in arrived] == [False, True, False]
    assert "larger than" in (arrived[1].refusal or "")
    far = _send(visit, ("one.pdf", SMALL_PDF), ("large.pdf", b"%PDF-1.4" + bytes(6000)))
    assert far.status_code == 413
    assert len(store.rows.page(LOCAL).items) == 2
    assert not list(settings.files.rglob("upload-*"))


def test_more_files_than_may_are_told_apart(visit: Visit, store: Store) -> None:
    arrived = _delivered(store, _send(visit, *[(f"{number}.pdf", SMALL_PDF) for number in range(22)]))
    assert len(arrived) == 22
    assert [bool(it.refusal) for it in arrived] == [False] * 20 + [True] * 2
    assert "At most 20 files" in (arrived[21].refusal or "")


def test_no_file_chosen_is_said(visit: Visit, store: Store) -> None:
    answer = _send(visit, ("", b""))
    assert answer.status_code == 422
    assert "No file was chosen" in answer.get_data(as_text=True)
    assert store.rows.page(LOCAL).items == []


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/passwd.pdf", "passwd.pdf"),
        ("C:\\\\books\\\\salt.pdf", "salt.pdf"),
        ("salt\u202efdp.exe", "salt\u202efdp.exe"),
        ("a/b/", "b"),
        ("..", ".."),
        ("salt%0d%0aSet-Cookie: x.pdf", "salt%0d%0aSet-Cookie: x.pdf"),
        ("x" * 3000 + ".pdf", "x" * 255),
        ("<script>alert(1)<.pdf", "<script>alert(1)<.pdf"),
    ],
)
def test_tricks_in_a_name_are_a_name(visit: Visit, store: Store, settings: Settings, name: str, kept: str) -> None:
    answer = _send(visit, (name, SMALL_PDF), (name, b"no book"))
    arrived = _delivered(store, answer)
    assert [it.file_name for it in arrived] == [kept, kept]
    assert _row(store, arrived[0]).file_name == kept
    shown = visit.client.get(answer.location)
    assert shown.status_code == 200
    assert "<script>alert" not in shown.get_data(as_text=True)
    assert "\u202e" not in shown.get_data(as_text=True)
    for path in settings.files.rglob("*"):
        assert path.is_dir() or path.name == "file.pdf"


def test_an_isbn_in_the_name_puts_it_with_its_title_at_once(visit: Visit, store: Store) -> None:
    title = desk.title(store, isbn=desk.ISBN, trim="6 × 9 in")
    (arrival,) = _delivered(store, _send(visit, ("978-0-00-000001-9.pdf", SMALL_PDF)))
    assert (arrival.title_id, arrival.number) == (title.id, 1)
    row = _row(store, arrival)
    profile = Profile.model_validate_json(row.profile_json)
    assert (row.title, [round(trim.width) for trim in profile.interior.trims]) == ("The Salt Road", [432])
    assert desk.now(store, title).standing == "to-be-looked-at"


def test_a_name_alone_is_proposed_and_a_person_says_so(visit: Visit, store: Store) -> None:
    title, _ = desk.title(store), desk.title(store, "Kelp", "Ines Carrow")
    answer = _send(visit, ("salt-road-final.pdf", SMALL_PDF), ("scan0001.pdf", SMALL_PDF))
    assert desk.now(store, title).submissions == 0
    page = visit.get(answer.location)
    assert [given["value"] for given in page.all("option") if "selected" in given] == [title.id]
    visit.submit(page.form(answer.location), **{"title-1": title.id, "title-2": ""})
    first, second = _delivered(store, answer)
    assert (first.title_id, first.number, first.how) == (title.id, 1, "By the file’s name.")
    assert second.title_id is None
    assert "scan0001.pdf" in visit.get("/take-in").text
    ((_, row),) = store.titles.submissions(title.id)
    assert row is not None
    assert (row.profile_id, row.state) == ("ternhaven-mono", "queued")
    assert len(store.rows.page(LOCAL).items) == 2  # the file was kept once for each


def test_what_was_measured_meanwhile_is_judged_and_not_measured_again(visit: Visit, store: Store) -> None:
    title = desk.title(store, "The Long Mole", isbn=desk.ISBN)
    content = books.book()
    answer = _send(visit, ("scan0001.pdf", content))
    (arrival,) = _delivered(store, answer)
    _inspect(store, _row(store, arrival), content)
    page = visit.get(answer.location)
    assert "By the title in the file." in page.text
    visit.submit(page.form(answer.location), **{"title-1": title.id})
    ((submission, row),) = store.titles.submissions(title.id)
    assert row is not None
    assert (row.state, row.profile_id, row.id) == ("done", "ternhaven-mono", submission.inspection_id)
    assert store.rows.get(arrival.inspection_id or "") is None
    assert [row.id] == [it.id for it in store.rows.page(LOCAL).items]


def test_the_next_file_is_compared_with_the_last(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    first = desk.submitted(store, title, books.done(store, books.book(), title=title.title))
    content = books.book(4, indent=0.2)
    answer = _send(visit, ("salt-road.pdf", content))
    (arrival,) = _delivered(store, answer)
    _inspect(store, _row(store, arrival), content)
    visit.submit(visit.get(answer.location).form(answer.location), **{"title-1": title.id})
    row = store.titles.submissions(title.id)[-1][1]
    assert row is not None
    assert row.against == first.inspection_id
    assert "Since the file before:" in visit.get(f"/titles/{title.id}").text


def test_a_title_is_made_from_a_file(visit: Visit, store: Store) -> None:
    content = books.book()
    answer = _send(visit, ("scan0001.pdf", content))
    (arrival,) = _delivered(store, answer)
    _inspect(store, _row(store, arrival), content)
    (link,) = [link for link in visit.get(answer.location).links() if link.startswith("/titles/new")]
    form = visit.get(link).form("/titles")
    assert form.values["title"] == "The Long Mole"
    refused = visit.submit(form, author="Jory Penhale", printing="ternhaven-mono", isbn="9780000000018")
    assert refused.status_code == 422
    again = Page(refused).form("/titles")
    made = visit.submit(again, author="Jory Penhale", printing="ternhaven-mono", isbn="")
    assert made.location == answer.location
    (listed,) = store.titles.page(LOCAL).items
    assert (listed.title.title, listed.title.submissions) == ("The Long Mole", 1)
    (settled,) = _delivered(store, answer)
    assert settled.title_id == listed.title.id


def test_a_file_goes_to_one_title_once(visit: Visit, store: Store) -> None:
    title, other = desk.title(store), desk.title(store, "Kelp")
    answer = _send(visit, ("scan.pdf", SMALL_PDF))
    form = visit.get(answer.location).form(answer.location)
    assert visit.submit(form, **{"title-1": title.id}).status_code == 303
    assert visit.submit(form, **{"title-1": other.id}).status_code == 303
    assert (desk.now(store, title).submissions, desk.now(store, other).submissions) == (1, 0)


@pytest.mark.parametrize("chosen", ["tit_none", "tit_" + "a" * 26, "\x00", "withdrawn", "another's"])
def test_a_title_that_is_none_of_the_list_is_refused_and_the_file_waits_on(
    visit: Visit, store: Store, chosen: str
) -> None:
    withdrawn, another = desk.title(store), desk.title(store, owner="somebody")
    store.titles.stand(withdrawn.id, LOCAL, "withdrawn")
    answer = _send(visit, ("scan.pdf", SMALL_PDF))
    form = visit.get(answer.location).form(answer.location)
    told = visit.submit(form, **{"title-1": {"withdrawn": withdrawn.id, "another's": another.id}.get(chosen, chosen)})
    assert told.status_code == 409
    (arrival,) = _delivered(store, answer)
    assert arrival.title_id is None
    assert desk.now(store, another).submissions == 0


def test_a_file_that_was_deleted_meanwhile_is_said_to_be(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    answer = _send(visit, ("scan.pdf", SMALL_PDF))
    form = visit.get(answer.location).form(answer.location)
    (arrival,) = _delivered(store, answer)
    store.delete(arrival.inspection_id or "")
    told = visit.submit(form, **{"title-1": title.id})
    assert (told.status_code, "has been deleted" in told.get_data(as_text=True)) == (409, True)
    assert desk.now(store, title).submissions == 0


def test_a_forged_form_keeps_nothing(visit: Visit, store: Store, settings: Settings) -> None:
    form = visit.get("/take-in").form("/take-in")
    forged = {FIELD: "x" * 32, "file": [(BytesIO(SMALL_PDF), "a.pdf"), (BytesIO(SMALL_PDF), "b.pdf")]}
    answer = visit.client.post(form.action, data=forged, content_type="multipart/form-data")
    assert answer.status_code == 403
    body, kind = books.form(form.values, [("file", "a.pdf", SMALL_PDF)], file_first=True)  # the secret comes too late
    assert visit.client.post(form.action, data=body, content_type=kind).status_code == 403
    assert store.rows.page(LOCAL).items == []
    assert not list(settings.files.rglob("upload-*"))


def test_a_form_that_is_none_is_refused(app: Flask, visit: Visit) -> None:
    visit.get("/take-in")
    answer = visit.client.post("/take-in", data=SMALL_PDF, content_type="application/pdf")
    assert answer.status_code == 415
    assert visit.client.post("/take-in", data=b"--x", content_type="multipart/form-data; boundary=x").status_code == 400


def test_the_pages_script_is_told_whether_files_are_being_read(visit: Visit, store: Store) -> None:
    answer = _send(visit, ("scan.pdf", SMALL_PDF))
    asked = {"Accept": "application/json"}
    assert visit.client.get(answer.location, headers=asked).json == {"reading": True}
    (arrival,) = _delivered(store, answer)
    store.rows.cancel(arrival.inspection_id or "")
    assert visit.client.get(answer.location, headers=asked).json == {"reading": False}


def test_a_file_is_taken_in_on_its_titles_page(visit: Visit, store: Store, sample_pdfs: Path) -> None:
    title = desk.title(store)
    form = visit.get(f"/titles/{title.id}").form("/submissions")
    content = (sample_pdfs / "tide-tables.pdf").read_bytes()
    assert visit.submit(form, file=(BytesIO(content), "tide-tables.pdf")).status_code == 303
    ((submission, row),) = store.titles.submissions(title.id)
    assert row is not None
    assert (submission.file_name, row.title) == ("tide-tables.pdf", "The Salt Road")
    refused = visit.submit(form, file=(BytesIO(b"no book"), "notes.txt"))
    assert (refused.status_code, "not a PDF" in refused.get_data(as_text=True)) == (415, True)
    store.titles.stand(title.id, LOCAL, "withdrawn")
    late = visit.submit(form, file=(BytesIO(content), "tide-tables.pdf"))
    assert (late.status_code, "is withdrawn" in late.get_data(as_text=True)) == (409, True)
    assert [it.id for it in store.rows.page(LOCAL).items] == [row.id]
    assert submission.received_at > rows.WHEN


def _changed(visit: Visit, title: Title, printing: str) -> None:
    form = visit.get(f"/titles/{title.id}/change").form("/change")
    typed = {"title": title.title, "author": title.author, "printing": printing}
    assert visit.submit(form, **typed).status_code == 303


def test_with_another_size_the_last_file_is_judged_again_without_being_sent(visit: Visit, store: Store) -> None:
    title, content = desk.title(store), books.book()
    visit.submit(visit.get(f"/titles/{title.id}").form("/submissions"), file=(BytesIO(content), "salt.pdf"))
    ((_, first),) = store.titles.submissions(title.id)
    assert first is not None
    _inspect(store, first, content)
    page = visit.get(f"/titles/{title.id}")
    assert "has another printer or size" not in page.text
    _changed(visit, title, "ternhaven-mono/5.5 × 8.5 in")
    page = visit.get(f"/titles/{title.id}")
    assert "has another printer or size" in page.text
    assert visit.submit(page.form("/judgements")).status_code == 303
    (_, kept), (second, again) = store.titles.submissions(title.id)
    assert kept is not None
    assert again is not None
    assert (second.sha256, again.state, again.against) == (first.sha256, "done", first.id)
    assert Profile.model_validate_json(again.profile_json).name.endswith("cut to 5.5 × 8.5 in")
    assert "has another printer or size" not in visit.get(f"/titles/{title.id}").text


def test_without_room_a_file_goes_on_waiting_and_it_is_said(settings: Settings, store: Store) -> None:
    title = desk.title(store)
    visit = Visit(create_app(Settings(**vars(settings) | {"quota": Quota(bytes=len(SMALL_PDF) + 1)})).test_client())
    sent = _send(visit, ("scan.pdf", SMALL_PDF))
    answer = visit.submit(visit.get(sent.location).form(sent.location), **{"title-1": title.id})
    assert answer.status_code == 409
    assert "Your kept files fill" in answer.get_data(as_text=True)
    (arrival,) = _delivered(store, sent)
    assert arrival.title_id is None
