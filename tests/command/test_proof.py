"""``check --proof``: the report as ever, and the book with its marks beside it, or one line that says why not."""

from __future__ import annotations

from pathlib import Path

import pikepdf
import pytest

from tests.command.test_command import SAMPLES, pressworthy


def test_the_report_and_the_proof(tmp_path: Path) -> None:
    out = tmp_path / "proof.pdf"
    out.write_bytes(b"an older one")
    plain = pressworthy("check", SAMPLES / "second-harbour.pdf")
    done = pressworthy("check", SAMPLES / "second-harbour.pdf", "--proof", out)
    assert (done.returncode, done.stdout, done.stderr) == (1, plain.stdout, "")
    with pikepdf.open(out) as proof, pikepdf.open(SAMPLES / "second-harbour.pdf") as book:
        assert len(proof.pages) > len(book.pages)
        notes = [note for page in proof.pages for note in page.obj.get("/Annots", []) if "/OC" in note]
        assert any(str(note.T).endswith("Text stands too near the spine") for note in notes)
    assert [found.name for found in tmp_path.iterdir()] == ["proof.pdf"]


def test_a_sound_book_has_one_too(tmp_path: Path) -> None:
    done = pressworthy("check", SAMPLES / "keeper-of-the-low-light.pdf", "--proof", tmp_path / "proof.pdf")
    assert (done.returncode, done.stderr) == (0, "")
    assert (tmp_path / "proof.pdf").is_file()


def _torn(path: Path) -> None:
    path.write_bytes(b"%PDF-1.7\nnothing more")


def _locked(path: Path) -> None:
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.save(path, encryption=pikepdf.Encryption(owner="tide", user="ebb"))


@pytest.mark.parametrize("spoil", [_torn, _locked])
def test_a_file_that_does_not_open_has_a_report_and_no_proof(spoil: object, tmp_path: Path) -> None:
    book = tmp_path / "book.pdf"
    spoil(book)  # type: ignore[operator]
    done = pressworthy("check", book, "--proof", tmp_path / "proof.pdf")
    assert (done.returncode, done.stdout) == (1, pressworthy("check", book).stdout)
    (line,) = done.stderr.splitlines()
    assert "there is no proof of book.pdf" in line
    assert [found.name for found in tmp_path.iterdir()] == ["book.pdf"]


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    done = pressworthy("check", SAMPLES / "keeper-of-the-low-light.pdf", "--proof", tmp_path / "nowhere" / "proof.pdf")
    assert done.returncode == 2
    assert done.stdout.startswith("Pressworthy")
    (line,) = done.stderr.splitlines()
    assert "choose a place that can be written" in line


def test_the_book_itself_is_not_overwritten(tmp_path: Path) -> None:
    book = tmp_path / "book.pdf"
    book.write_bytes((SAMPLES / "second-harbour.pdf").read_bytes())
    (tmp_path / "link.pdf").symlink_to(book)
    for place in (book, tmp_path / "link.pdf"):
        done = pressworthy("check", book, "--proof", place)
        assert (done.returncode, done.stdout, len(done.stderr.splitlines())) == (2, "", 1)
    assert book.read_bytes() == (SAMPLES / "second-harbour.pdf").read_bytes()
