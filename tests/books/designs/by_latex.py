"""Designs set by LaTeX, with the memoir class: running heads, footnotes, parts, a contents; paragraphs are stretched so
that all pages end alike."""

from __future__ import annotations

import subprocess
from pathlib import Path

from sample_pdfs.prose import chapters
from tests.books.designs.by_typst import IMPRINT, TITLES

SOURCE = r"""
\documentclass[11pt,twoside,%(openings)s]{memoir}
\usepackage[T1]{fontenc}
\usepackage[utf8]{inputenc}
\usepackage{lmodern}
\setstocksize{9in}{6in}\settrimmedsize{9in}{6in}{*}\settrims{0pt}{0pt}
\setlrmarginsandblock{68pt}{50pt}{*}\setulmarginsandblock{76pt}{72pt}{*}\setheadfoot{14pt}{34pt}\setheaderspaces{*}{14pt}{*}
\checkandfixthelayout
\pdfinfo{/Title (%(title)s) /Author (Ottilie Varne)}
\pagestyle{headings}\makeoddhead{headings}{\itshape\rightmark}{}{\thepage}
\makeevenhead{headings}{\thepage}{}{\itshape %(title)s}
\makepsmarks{headings}{\renewcommand{\chaptermark}[1]{\markright{##1}}}
\aliaspagestyle{part}{empty}\aliaspagestyle{cleared}{empty}
\widowpenalty=10000 \clubpenalty=10000 \flushbottom
%(preamble)s
\begin{document}
\frontmatter\pagestyle{empty}\aliaspagestyle{chapter}{empty}
\vspace*{.25\textheight}\begin{center}\Large %(title)s\end{center}\cleardoublepage
\vspace*{.22\textheight}\begin{center}{\Huge %(title)s\par}\vspace{2em}{\large Ottilie Varne}\end{center}\vfill
\begin{center}Tern Island Writers' Cooperative\end{center}\clearpage
\vspace*{\fill}{\footnotesize\noindent %(imprint)s}\clearpage
\vspace*{.25\textheight}\begin{center}\itshape For the pilots\end{center}\cleardoublepage
\tableofcontents*
\cleardoublepage\mainmatter\pagestyle{headings}\aliaspagestyle{chapter}{plain}
%(body)s
\end{document}
"""


def set_by_latex(
    out: Path,
    *,
    parts: bool = False,
    notes: bool = True,
    openings: str = "openright",
    preamble: str = "",
    before: dict[int, str] | None = None,
    seed: int = 11,
) -> Path:
    """Set the book; ``before`` is what stands before a chapter, counted from 0. Set three times, for the contents."""
    body = []
    for number, (title, paragraphs) in enumerate(
        zip(TITLES, chapters(len(TITLES), words=1900, seed=seed), strict=True)
    ):
        if parts and number in (0, 3):
            body.append(rf"\part{{{'The Island' if number == 0 else 'The Mainland'}}}")
        body.append((before or {}).get(number, ""))
        body.append(rf"\chapter{{{title}}}")
        if notes:
            paragraphs[2] += r"\footnote{So it is told on the island; nobody has seen the book.}"
        body.append("\n\n".join(map(_plain, paragraphs)))
    values = {
        "openings": openings,
        "title": "The Long Promise",
        "imprint": r"\par\noindent ".join(IMPRINT).replace("©", r"\copyright{}"),
        "preamble": preamble,
        "body": "\n".join(body),
    }
    source = out.with_suffix(".tex")
    source.write_text(SOURCE % values, "utf-8")
    for _ in range(3):
        command = ["pdflatex", "-interaction=batchmode", "-halt-on-error", source.name]
        subprocess.run(command, cwd=out.parent, check=True, capture_output=True)
    return out


def _plain(text: str) -> str:
    return text.replace("&", r"\&").replace("%", r"\%").replace("’", "'").replace("“", "``").replace("”", "''")
