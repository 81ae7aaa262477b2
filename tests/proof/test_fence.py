"""A proof comes over the fence, or one line that says why not."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pikepdf
import pytest

from tests.proof.made import coarse, mark, order
from tests.report.test_pictures import CASES, write
from worker import child
from worker.fence import Cancelled, LimitCrossed, MeasuringFailed, proof_fenced
from worker.limits import Limits

WANTED = order(coarse(1), marks=(mark((60, 100, 100, 160)),))


def test_a_proof_is_made(tmp_path: Path) -> None:
    path, out = write(CASES["plain"], tmp_path / "page.pdf"), tmp_path / "proof.pdf"
    before = path.read_bytes()
    proof_fenced(path, WANTED, out=out, limits=Limits())
    with pikepdf.open(out) as pdf:
        assert len(pdf.pages) == 2
    assert path.read_bytes() == before
    assert sorted(found.name for found in tmp_path.iterdir()) == ["page.pdf", "proof.pdf"]


def test_the_same_again_is_the_same_file(tmp_path: Path) -> None:
    path = write(CASES["plain"], tmp_path / "page.pdf")
    for name in ("one.pdf", "other.pdf"):
        proof_fenced(path, WANTED, out=tmp_path / name, limits=Limits())
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "other.pdf").read_bytes()


def test_what_is_no_pdf_is_told(tmp_path: Path) -> None:
    (tmp_path / "x.pdf").write_bytes(b"%PDF-1.7 nothing else")
    with pytest.raises(MeasuringFailed, match="no proof can be made of this file") as failed:
        proof_fenced(tmp_path / "x.pdf", WANTED, out=tmp_path / "proof.pdf", limits=Limits())
    assert (failed.value.passes, (tmp_path / "proof.pdf").exists()) == (False, False)


def test_it_has_limits_too(sample_pdfs: Path, tmp_path: Path) -> None:
    with pytest.raises(LimitCrossed) as crossed:
        proof_fenced(
            sample_pdfs / "second-harbour.pdf", WANTED, out=tmp_path / "proof.pdf", limits=Limits(memory=60_000_000)
        )
    assert crossed.value.limit == "memory"


def test_nobody_wants_it_any_more(tmp_path: Path) -> None:
    path = write(CASES["plain"], tmp_path / "page.pdf")
    with pytest.raises(Cancelled):
        proof_fenced(path, WANTED, out=tmp_path / "proof.pdf", limits=Limits(), cancelled=lambda: True)


def test_it_may_be_as_large_as_the_file_and_no_larger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file may be larger than any other result; its proof then is too."""
    path, out = tmp_path / "page.pdf", tmp_path / "proof.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(200, 300))
        pdf.Root.Ballast = pdf.make_stream(bytes(range(256)) * 2000, Filter=pikepdf.Name.Opaque)
        pdf.save(path)
    monkeypatch.setattr(child, "LARGEST_RESULT", 100_000)
    proof_fenced(path, WANTED, out=out, limits=Limits())
    assert out.stat().st_size > path.stat().st_size > 500_000
    monkeypatch.setattr(child, "LARGEST_RESULT", 10)
    with pytest.raises(LimitCrossed, match="far larger than the file"):
        proof_fenced(path, WANTED, out=out, limits=Limits())


def test_what_is_asked_for_needs_no_reader_of_pdf() -> None:
    """A PDF is hostile: what reads it is loaded in the child alone."""
    asked = "import sys, worker.proof, service.proofs; print('pikepdf' in sys.modules, 'pypdfium2' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == "False False"
