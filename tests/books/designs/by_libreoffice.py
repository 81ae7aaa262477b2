"""Designs set by LibreOffice Writer, as a person sets a novel there: page styles for front matter, first pages and the
rest, headings that start a page, a contents typed by hand, widow and orphan control."""

from __future__ import annotations

import subprocess
from pathlib import Path
from xml.sax.saxutils import escape

from sample_pdfs.prose import chapters
from tests.books.designs.by_typst import IMPRINT, TITLES

TITLE = "Weed on the Step"
SOURCE = """<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:fo="urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0"
 xmlns:svg="urn:oasis:names:tc:opendocument:xmlns:svg-compatible:1.0"
 xmlns:meta="urn:oasis:names:tc:opendocument:xmlns:meta:1.0"
 xmlns:dc="http://purl.org/dc/elements/1.1/"
 office:version="1.3" office:mimetype="application/vnd.oasis.opendocument.text">
 <office:meta><dc:title>{title}</dc:title></office:meta>
 <office:font-face-decls>
  <style:font-face style:name="Body" svg:font-family="'Liberation Serif'"/>
 </office:font-face-decls>
 <office:styles>
  <style:default-style style:family="paragraph">
   <style:paragraph-properties fo:line-height="15pt"/>
   <style:text-properties style:font-name="Body" fo:font-size="11pt" fo:language="en" fo:country="GB"/>
  </style:default-style>
  <style:style style:name="Standard" style:family="paragraph">
   <style:paragraph-properties fo:text-align="justify" fo:orphans="2" fo:widows="2"/>
  </style:style>
  <style:style style:name="Text" style:family="paragraph" style:parent-style-name="Standard">
   <style:paragraph-properties fo:text-indent="15pt"/>
  </style:style>
  <style:style style:name="First" style:family="paragraph" style:parent-style-name="Standard">
   <style:paragraph-properties>{drop_cap}</style:paragraph-properties>
  </style:style>
  <style:style style:name="Centred" style:family="paragraph" style:parent-style-name="Standard">
   <style:paragraph-properties fo:text-align="center"/>
  </style:style>
  <style:style style:name="Small" style:family="paragraph" style:parent-style-name="Centred">
   <style:text-properties fo:font-size="9.5pt"/>
  </style:style>
  <style:style style:name="Display" style:family="paragraph" style:parent-style-name="Centred">
   <style:paragraph-properties fo:margin-top="150pt" fo:line-height="30pt"/>
   <style:text-properties fo:font-size="24pt"/>
  </style:style>
  <style:style style:name="Half" style:family="paragraph" style:parent-style-name="Display">
   <style:text-properties fo:font-size="14pt"/>
  </style:style>
  <style:style style:name="Imprint" style:family="paragraph" style:parent-style-name="Standard">
   <style:paragraph-properties fo:text-align="left"/><style:text-properties fo:font-size="8.5pt"/>
  </style:style>
  <style:style style:name="Heading" style:family="paragraph" style:parent-style-name="Centred">
   <style:paragraph-properties fo:margin-top="90pt" fo:margin-bottom="36pt" fo:line-height="22pt"/>
   <style:text-properties fo:font-size="17pt"/>
  </style:style>
  <style:style style:name="Entry" style:family="paragraph" style:parent-style-name="Standard">
   <style:paragraph-properties fo:text-align="left"><style:tab-stops>
    <style:tab-stop style:position="320pt" style:type="right" style:leader-style="dotted" style:leader-text="."/>
   </style:tab-stops></style:paragraph-properties>
  </style:style>
 </office:styles>
 <office:automatic-styles>
  <style:page-layout style:name="Bare" style:page-usage="mirrored">
   <style:page-layout-properties fo:page-width="6in" fo:page-height="9in" fo:margin-left="63pt"
    fo:margin-right="45pt" fo:margin-top="72pt" fo:margin-bottom="72pt"/>
  </style:page-layout>
  <style:page-layout style:name="Recto" style:page-usage="{opening_usage}">
   <style:page-layout-properties fo:page-width="6in" fo:page-height="9in" fo:margin-left="63pt"
    fo:margin-right="45pt" fo:margin-top="72pt" fo:margin-bottom="42pt"/>
   <style:footer-style><style:header-footer-properties fo:min-height="30pt" fo:margin-top="14pt"/></style:footer-style>
  </style:page-layout>
  <style:page-layout style:name="Full" style:page-usage="mirrored">
   <style:page-layout-properties fo:page-width="6in" fo:page-height="9in" fo:margin-left="63pt"
    fo:margin-right="45pt" fo:margin-top="42pt" fo:margin-bottom="42pt"/>
   <style:header-style>
    <style:header-footer-properties fo:min-height="30pt" fo:margin-bottom="14pt"/>
   </style:header-style>
   <style:footer-style><style:header-footer-properties fo:min-height="30pt" fo:margin-top="14pt"/></style:footer-style>
  </style:page-layout>
  {breaks}
 </office:automatic-styles>
 <office:master-styles>
  <style:master-page style:name="Standard" style:page-layout-name="Bare"/>
  <style:master-page style:name="Opening" style:page-layout-name="Recto" style:next-style-name="Running">
   <style:footer>{folio}</style:footer>
  </style:master-page>
  <style:master-page style:name="Running" style:page-layout-name="Full">
   <style:header><text:p text:style-name="Small">{title}</text:p></style:header>
   <style:footer>{folio}</style:footer>
  </style:master-page>
 </office:master-styles>
 <office:body><office:text>{body}</office:text></office:body>
</office:document>
"""
FOLIO = '<text:p text:style-name="Small"><text:page-number text:select-page="current">1</text:page-number></text:p>'
DROP_CAP = '<style:drop-cap style:lines="2" style:length="1" style:distance="2pt"/>'


def set_by_libreoffice(
    out: Path,
    *,
    numbers: tuple[int, ...],
    drop_caps: bool = False,
    recto: bool = True,
    start: int = 1,
    empty_lines: dict[int, int] | None = None,
    seed: int = 23,
) -> Path:
    """Set the book. ``numbers`` are typed into its contents; ``start`` is the number of the first chapter's page;
    ``empty_lines`` stand above the headings of chapters, counted from 0."""
    styles, body = [], [_p("Half", TITLE)]
    for name, parent in (
        ("Next", "Display"),
        ("NextImprint", "Imprint"),
        ("NextCentred", "Centred"),
        ("NextEntry", "Half"),
    ):
        styles.append(_break(name, parent, "page"))
    body += [_p("NextCentred", ""), _p("Next", TITLE), _p("Centred", "Ottilie Varne")]
    body += [_p("NextImprint", IMPRINT[0]), *(_p("Imprint", each) for each in IMPRINT[1:])]
    body += [_p("NextCentred", "For the pilots"), _p("NextCentred", ""), _p("NextEntry", "Contents")]
    body += [
        f'<text:p text:style-name="Entry">{escape(title)}<text:tab/>{number}</text:p>'
        for title, number in zip(TITLES, numbers, strict=True)
    ]
    for number, (title, texts) in enumerate(zip(TITLES, chapters(len(TITLES), words=1800, seed=seed), strict=True)):
        lines = (empty_lines or {}).get(number, 0)
        name = f"Chapter{number}"
        styles.append(_opening(name, "Standard" if lines else "Heading", start if number == 0 else None))
        if lines:
            body += [_p(name, ""), *(_p("Standard", "") for _ in range(lines - 1)), _p("Heading", title)]
        else:
            body.append(f'<text:h text:style-name="{name}" text:outline-level="1">{escape(title)}</text:h>')
        body += [_p("First" if at == 0 else "Text", text) for at, text in enumerate(texts)]
    source = out.with_suffix(".fodt")
    source.write_text(
        SOURCE.format(
            title=escape(TITLE), folio=FOLIO, body="".join(body), breaks="".join(styles),
            drop_cap=DROP_CAP if drop_caps else "", opening_usage="right" if recto else "mirrored",
        ),
        "utf-8",
    )  # fmt: skip
    options = 'pdf:writer_pdf_Export:{"IsSkipEmptyPages":{"type":"boolean","value":"false"}}'
    command = ["soffice", f"-env:UserInstallation={(out.parent / 'office-profile').as_uri()}", "--headless"]
    command += ["--convert-to", options, "--outdir", str(out.parent), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    return out


def _p(style: str, text: str) -> str:
    return f'<text:p text:style-name="{style}">{escape(text)}</text:p>'


def _break(name: str, parent: str, kind: str) -> str:
    return (
        f'<style:style style:name="{name}" style:family="paragraph" style:parent-style-name="{parent}">'
        f'<style:paragraph-properties fo:break-before="{kind}"/></style:style>'
    )


def _opening(name: str, parent: str, number: int | None) -> str:
    count = "" if number is None else f' style:page-number="{number}"'
    return (
        f'<style:style style:name="{name}" style:family="paragraph" style:parent-style-name="{parent}" '
        f'style:master-page-name="Opening"><style:paragraph-properties{count}/></style:style>'
    )
