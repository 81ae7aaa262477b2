"""The real books that the reading is held against, and what a person looked up about each."""

from __future__ import annotations

from dataclasses import dataclass, field

from tests import corpora
from tests.corpora import Corpus


def pages(first: int, last: int) -> frozenset[int]:
    """The pages from the first to the last."""
    return frozenset(range(first, last + 1))


@dataclass(frozen=True, eq=False)
class RealBook:
    """One book: its file, the pages of its contents, and the levels of its outline whose entries open pages."""

    corpus: Corpus
    contents: frozenset[int]
    levels: tuple[int, ...] = (0,)
    other_lists: frozenset[int] = frozenset()
    """Pages of lists of figures, of tables: read as lists, and so no openings."""
    counted_from: int | None = None
    """The page that prints 1, of a file whose labels are not what it prints; None: the labels are."""
    unlisted: dict[int, str] = field(default_factory=dict)
    """Pages that a title opens, and that the outline leaves out: they may be read, and need not be.
    A list of a few lines may be read as a list or as an opening."""
    runs_on: frozenset[int] = frozenset()
    """Pages where an entry of these levels starts below other text, and so opens none."""
    parts: tuple[str, ...] = ()
    """Entries whose own entries open pages too, where other entries of that level do not."""
    not_asked: str = ""
    """Why the promise is not made for this book; empty where it is."""

    @property
    def lists(self) -> frozenset[int]:
        return self.contents | self.other_lists

    @property
    def name(self) -> str:
        return self.corpus.path.name.split(".pdf")[0]


KOMA_PARTS = {
    "en": ("KOMA-Script for Authors", "KOMA-Script for Advanced Users and Experts"),
    "de": ("KOMA-Script für Autoren", "KOMA-Script für fortgeschrittene Anwender und Experten"),
}
BOOKS = (
    RealBook(corpora.MEMOIR, pages(7, 16), other_lists=pages(17, 22), unlisted={421: "Appendices"}),
    RealBook(corpora.ANNOTATIONS, pages(4, 24)),
    RealBook(corpora.KOMA_EN, pages(9, 15), other_lists=pages(16, 20), parts=KOMA_PARTS["en"]),
    RealBook(corpora.KOMA_DE, pages(9, 14), other_lists=pages(15, 19), parts=KOMA_PARTS["de"]),
    RealBook(corpora.LUATEX, pages(5, 16), counted_from=5),
    RealBook(corpora.GNUPLOT, pages(2, 20)),
    RealBook(corpora.DOXYGEN, pages(3, 18), levels=(0, 1), unlisted={328: "Index"}),  # parts, and chapters in them
    RealBook(corpora.LIBPARI, pages(3, 12), runs_on=frozenset({209})),
    RealBook(corpora.R_INTRO, pages(3, 6)),
    RealBook(corpora.R_EXTS, pages(3, 7)),
    RealBook(corpora.R_ADMIN, pages(3, 5)),
    RealBook(corpora.R_LANG, pages(3, 5)),
    RealBook(corpora.R_DATA, pages(3, 4)),
    RealBook(corpora.R_INTS, pages(3, 5)),
    RealBook(corpora.OCTAVE, pages(3, 15)),
    RealBook(corpora.ASYMPTOTE, pages(3, 5)),
    RealBook(corpora.SBCL, pages(3, 8)),
    RealBook(corpora.ZSH, pages(3, 9), levels=()),  # its chapters run on, one below the other
    RealBook(corpora.LILYPOND_LEARNING, pages(2, 5)),
    RealBook(corpora.DEBIAN_REFERENCE, pages(5, 17), other_lists=pages(18, 22), unlisted={24: "Preface"}),
    RealBook(corpora.DEBIAN_REFERENCE_DE, pages(5, 17), other_lists=pages(18, 22), unlisted={24: "Vorwort"}),
    RealBook(corpora.DEBIAN_REFERENCE_FR, pages(5, 17), other_lists=pages(18, 22), unlisted={24: "Préface"}),
    RealBook(corpora.DEBIAN_REFERENCE_JA, pages(5, 17), other_lists=pages(18, 22), unlisted={24: "序章"}),
    RealBook(corpora.MAINT_GUIDE, pages(4, 6)),
    RealBook(corpora.MAINT_GUIDE_FR, pages(4, 6)),
    RealBook(corpora.DEBMAKE, pages(4, 6), unlisted={8: "Preface"}),
    RealBook(corpora.DEBMAKE_RU, pages(4, 6), unlisted={8: "Предисловие"}),
    RealBook(corpora.DEBMAKE_ZH, pages(4, 6), unlisted={8: "前言"}),
    RealBook(corpora.DEBIAN_FAQ, pages(3, 6)),
    RealBook(corpora.LINUXCNC_DE, pages(2, 7)),
    RealBook(corpora.DEBIAN_POLICY, pages(3, 9)),
    RealBook(corpora.DEVELOPERS_REFERENCE, pages(3, 8)),
    RealBook(corpora.DYNARE, pages(3, 5)),
    RealBook(corpora.REPORTLAB, pages(2, 5)),
    RealBook(
        corpora.MAXIMA,
        pages(3, 5),
        levels=(0, 1),  # parts, and chapters in them
        other_lists=pages(131, 131),
        unlisted={131: "List of Figures", 133: "Bibliography"},
        not_asked="its contents and its outline are a page or two off at the end",
    ),
    RealBook(
        corpora.INSTALL_JA,
        pages(3, 7),
        other_lists=pages(8, 8),
        unlisted={8: "List of Tables", 10: "amd64 用 Debian GNU/Linux 12 のインストール"},
        not_asked="its package is large, for a book much like others here",
    ),
    RealBook(
        corpora.VALGRIND,
        frozenset({2, 4, *pages(9, 12), 191, 200, 218, 382}),
        levels=(0, 1),
        not_asked="several books in one file, each with a title page and a contents",
    ),
)
