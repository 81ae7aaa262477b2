"""Real PDFs that others made: Debian's documentation packages, and files in the source packages of PDF libraries.

Nothing is kept in the repository. A Debian package that is not installed, or a source package that cannot be fetched,
makes its tests skip and say so. Fetched packages stay in ``PRESSWORTHY_TEST_CACHE``, or in the user's cache folder.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from tests.needs import needs_corpus

DOCS = Path("/usr/share/doc")


@dataclass(frozen=True)
class Corpus:
    """One real PDF: where a Debian package puts it, and what it is good for."""

    path: Path
    package: str
    use: str

    @property
    def missing(self) -> pytest.MarkDecorator:
        return needs_corpus(self.path, package=self.package)


MEMOIR = Corpus(
    DOCS / "texlive-doc/latex/memoir/memman.pdf", "texlive-latex-recommended-doc", "a 615-page manual set by pdfTeX"
)
ANNOTATIONS = Corpus(
    DOCS / "c++-annotations/cplusplus.pdf", "c++-annotations-pdf", "a book of 1151 pages by pdfTeX; 4864 links"
)
R_INTRO = Corpus(DOCS / "r-doc-pdf/manual/R-intro.pdf", "r-doc-pdf", "nine fonts of its figures are not embedded")
R_EXTS = Corpus(DOCS / "r-doc-pdf/manual/R-exts.pdf", "r-doc-pdf", "all 22 fonts embedded; 1225 links")
DEBIAN_REFERENCE = Corpus(
    DOCS / "debian-reference-common/docs/debian-reference.en.pdf", "debian-reference-en", "set by XeTeX; 4580 links"
)
BEAMER = Corpus(
    DOCS / "texlive-doc/latex/beamer/beameruserguide.pdf", "texlive-latex-recommended-doc", "shadings, forms, pictures"
)
LUATEX = Corpus(DOCS / "texlive-doc/luatex/base/luatex.pdf", "texlive-base", "a 324-page manual set by LuaTeX")
R_ADMIN = Corpus(DOCS / "r-doc-pdf/manual/R-admin.pdf", "r-doc-pdf", "set by Texinfo")
R_LANG = Corpus(DOCS / "r-doc-pdf/manual/R-lang.pdf", "r-doc-pdf", "set by Texinfo")
DEBIAN_REFERENCE_DE = Corpus(
    Path("/usr/share/debian-reference/debian-reference.de.pdf"), "debian-reference-de", "in German, set by XeTeX"
)
DEBIAN_REFERENCE_JA = Corpus(
    Path("/usr/share/debian-reference/debian-reference.ja.pdf"), "debian-reference-ja", "in Japanese, set by XeTeX"
)
MAINT_GUIDE = Corpus(DOCS / "maint-guide/maint-guide.en.pdf", "maint-guide", "set by XeTeX from DocBook")
DEBMAKE = Corpus(DOCS / "debmake-doc/debmake-doc.en.pdf", "debmake-doc", "set by XeTeX from DocBook")
OCTAVE = Corpus(DOCS / "octave/octave.pdf", "octave-doc", "1,158 pages by Texinfo")
VALGRIND = Corpus(DOCS / "valgrind/valgrind_manual.pdf.gz", "valgrind", "set by an XSL-FO formatter")
GNUPLOT = Corpus(DOCS / "gnuplot/gnuplot.pdf", "gnuplot-doc", "set by pdfTeX")
DEBIAN_POLICY = Corpus(DOCS / "debian-policy/policy.pdf.gz", "debian-policy", "set by XeTeX from reStructuredText")
DEVELOPERS_REFERENCE = Corpus(
    Path("/usr/share/developers-reference/developers-reference.pdf"), "developers-reference",
    "set by pdfTeX from reStructuredText",
)  # fmt: skip
ASYMPTOTE = Corpus(DOCS / "asymptote/asymptote.pdf", "asymptote-doc", "set by Texinfo, with figures")
POLYGLOSSIA = Corpus(
    DOCS / "texlive-doc/latex/polyglossia/polyglossia.pdf",
    "texlive-latex-recommended-doc",
    "set by XeTeX; many scripts",
)
R_DATA = Corpus(DOCS / "r-doc-pdf/manual/R-data.pdf", "r-doc-pdf", "set by Texinfo")
R_INTS = Corpus(DOCS / "r-doc-pdf/manual/R-ints.pdf", "r-doc-pdf", "set by Texinfo")
KOMA_EN = Corpus(
    DOCS / "texlive-doc/latex/koma-script/scrguide-en.pdf", "texlive-latex-recommended-doc", "parts and chapters"
)
KOMA_DE = Corpus(
    DOCS / "texlive-doc/latex/koma-script/scrguide-de.pdf", "texlive-latex-recommended-doc", "the same in German"
)
ZSH = Corpus(DOCS / "zsh-common/zsh.pdf", "zsh-doc", "480 pages by Texinfo")
DOXYGEN = Corpus(DOCS / "doxygen/doxygen_manual.pdf", "doxygen-doc", "parts, chapters, appendices; set by pdfTeX")
SBCL = Corpus(DOCS / "sbcl/sbcl.pdf.gz", "sbcl-doc", "set by Texinfo")
LIBPARI = Corpus(Path("/usr/share/pari/doc/libpari.pdf"), "pari-doc", "427 pages by plain TeX")
REPORTLAB = Corpus(
    DOCS / "python-reportlab-doc/reportlab-userguide.pdf", "python-reportlab-doc", "set by ReportLab's own library"
)
DEBIAN_FAQ = Corpus(DOCS / "debian/FAQ/debian-faq.en.pdf.gz", "debian-faq", "set by XeTeX from DocBook")
MAINT_GUIDE_FR = Corpus(DOCS / "maint-guide-fr/maint-guide.fr.pdf", "maint-guide-fr", "in French, set by XeTeX")
DEBIAN_REFERENCE_FR = Corpus(
    Path("/usr/share/debian-reference/debian-reference.fr.pdf"), "debian-reference-fr", "in French, set by XeTeX"
)
DEBMAKE_RU = Corpus(DOCS / "debmake-doc/debmake-doc.ru.pdf", "debmake-doc", "in Russian, set by XeTeX")
DEBMAKE_ZH = Corpus(DOCS / "debmake-doc/debmake-doc.zh-cn.pdf", "debmake-doc", "in Chinese, set by XeTeX")
GAP_TUTORIAL = Corpus(Path("/usr/share/gap/doc/tut/manual.pdf"), "gap-doc", "set by pdfTeX from GAPDoc")
DYNARE = Corpus(DOCS / "dynare/dynare-manual.pdf.gz", "dynare-doc", "set by pdfTeX from reStructuredText")
LILYPOND_LEARNING = Corpus(
    DOCS / "lilypond/html/Documentation/learning.pdf", "lilypond-doc-pdf", "Texinfo and scores, by Ghostscript"
)
LINUXCNC_DE = Corpus(
    DOCS / "linuxcnc/LinuxCNC_Developer_de.pdf", "linuxcnc-doc-de", "in German, set by XeTeX from AsciiDoc"
)
INSTALL_JA = Corpus(
    DOCS / "installation-guide-amd64/ja/install.ja.pdf.gz", "installation-guide-amd64", "in Japanese, set by XeTeX"
)
MAXIMA = Corpus(
    DOCS / "maxima-doc/maximabook-19-Sept-2004.pdf.gz", "maxima-doc", "parts and chapters, by pdfTeX of 2004"
)

CORPORA = (MEMOIR, ANNOTATIONS, R_INTRO, R_EXTS, DEBIAN_REFERENCE)


def corpus_parameters(*corpora: Corpus) -> list[object]:
    """Parameters of a test over ``corpora`` (all of them by default), each with its skip."""
    chosen = corpora or CORPORA
    return [pytest.param(corpus.path, marks=corpus.missing, id=corpus.path.stem) for corpus in chosen]


# Source packages whose own tests bring PDFs (licences: MPL-2.0, BSD-3-Clause, MPL-2.0, LGPL-3.0; read, not copied).
SOURCES = {"pikepdf": "10.18.0", "pypdf": "7.1.1", "ocrmypdf": "17.13.0", "img2pdf": "0.6.3"}


def _cache_folder() -> Path:
    chosen = os.environ.get("PRESSWORTHY_TEST_CACHE")
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return Path(chosen) if chosen else base / "pressworthy-tests"


def _fetch(name: str, version: str, folder: Path) -> Path:
    """The source archive of a package, fetched by pip unless ``folder`` has it; OSError says why not."""
    folder.mkdir(parents=True, exist_ok=True)
    if kept := sorted(folder.glob(f"{name}-{version}.tar.gz")):
        return kept[0]
    with tempfile.TemporaryDirectory(dir=folder) as fresh:
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--no-binary", ":all:"]
        command += ["--dest", fresh, f"{name}=={version}"]
        try:
            done = subprocess.run(command, capture_output=True, text=True, timeout=240, check=False)
        except subprocess.TimeoutExpired:
            raise OSError("pip took more than four minutes") from None
        fetched = sorted(Path(fresh).glob("*.tar.gz"))
        if done.returncode or not fetched:
            raise OSError((done.stderr.strip().splitlines() or ["pip fetched nothing"])[-1])
        return fetched[0].replace(folder / f"{name}-{version}.tar.gz")


@cache
def source_folder(name: str) -> Path:
    """The unpacked source package ``name`` of ``SOURCES``; skips the calling test where it cannot be had."""
    version = SOURCES[name]
    unpacked = _cache_folder() / f"{name}-{version}"
    if not unpacked.is_dir():
        try:
            archive = _fetch(name, version, _cache_folder())
        except OSError as error:
            pytest.skip(f"needs the source package of {name} {version}: {error}")
        with tempfile.TemporaryDirectory(dir=_cache_folder()) as fresh:
            with tarfile.open(archive) as tar:
                tar.extractall(fresh, filter="data")
            next(Path(fresh).iterdir()).rename(unpacked)
    return unpacked


def source_pdf(name: str, relative: str) -> Path:
    """One PDF of a source package, by its path in it."""
    path = source_folder(name) / relative
    if not path.exists():
        pytest.skip(f"{name} {SOURCES[name]} has no {relative}")
    return path


def source_pdfs(name: str) -> list[Path]:
    """All PDFs of a source package."""
    return sorted(source_folder(name).rglob("*.pdf"))
