"""Sound designs, set by Typst."""

from __future__ import annotations

from tests.books.designs.by_typst import FRONT, Design, prose

EPIGRAPHS = ("The sea keeps no books.", "", "Low water is a promise.", "", "", "It was written down.")
GERMAN = ("Das Gezeitenbuch", "Zwei Häfen", "Die zweite Glocke", "Papier und Teer", "Niedrigwasser", "Die leere Seite")
PARTS = ("The Island", "", "", "The Mainland", "", "")
NUMERALS = ("I", "II", "III", "IV", "V", "VI")

PLAIN = Design(prose())

SOUND: dict[str, Design] = {
    "plain": PLAIN,
    "folio-in-the-head": PLAIN.but(folio="head", openings="any", contents="plain"),
    "folio-in-the-margin": PLAIN.but(folio="side", heads=False, outside=72.0),
    "folio-outside": PLAIN.but(folio="outer", sinkage=120.0),
    "no-folios": PLAIN.but(folio="none", front=("half", "title", "imprint", "dedication")),
    "roman-front-matter": PLAIN.but(
        front=(*FRONT, "figures"), front_pages=10, front_numbers="i",
        plates={"0.4": "The slip", "3.3": "The net loft", "5.6": "The chapel steps"},
    ),
    "parts": PLAIN.but(chapters=prose(part=PARTS)),
    "small-capitals": PLAIN.but(heading="small", sinkage=140.0),
    "numbers-alone": PLAIN.but(chapters=prose(titles=(None,) * 6, number=NUMERALS), heads=False, contents="plain"),
    "numbers-and-titles": PLAIN.but(chapters=prose(number=tuple(f"Chapter {n}" for n in NUMERALS))),
    "epigraphs": PLAIN.but(chapters=prose(epigraph=EPIGRAPHS)),
    "verse": PLAIN.but(verse=True, openings="any"),
    "bound-on-the-right": PLAIN.but(right_bound=True, folio="outer"),
    "german": PLAIN.but(
        chapters=prose(titles=GERMAN), lang="de", contents="left", contents_name="Inhalt", title="Der Hüter des Lichts",
        document_title="Der Hüter des Lichts",
    ),
}  # fmt: skip
