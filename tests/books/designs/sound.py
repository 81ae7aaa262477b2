"""Sound designs, set by Typst: what real books have, one or a few things at a time. All of it invented."""

from __future__ import annotations

from tests.books.designs.by_typst import FRONT, Design, prose

EPIGRAPHS = ("The sea keeps no books.", "", "Low water is a promise.", "", "", "It was written down.")
GERMAN = ("Das Gezeitenbuch", "Zwei Häfen", "Die zweite Glocke", "Papier und Teer", "Niedrigwasser", "Die leere Seite")
PARTS = ("The Island", "", "", "The Mainland", "", "")
NUMERALS = ("I", "II", "III", "IV", "V", "VI")

FRENCH = ("Le livre des marées", "Deux ports", "La seconde cloche", "Papier et goudron", "Basse mer", "La page vide")
HUNGARIAN = ("Az árapály könyve", "Két kikötő", "A második harang", "Papír és kátrány", "Apály", "Az üres lap")
LONG = (
    "In which the Tide Book is lost, and nobody is to blame for it",
    "Two Harbours",
    "How the second bell came to hang in the chapel, and why it is rung",
    "Paper and Tar",
    "Low Water",
    "The empty page, or what was never written",
)
AUTHORS = ("Isbel Marrin", "Ottilie Varne", "Sefa Pell", "Wenna Tamsel", "Morwen Jorrie", "Ottilie Varne")
PLACES = ["Slip", "Chapel Steps", "Upper Field", "North Wall", "Net Loft", "Coal Store", "Low Road", "Second Harbour"]
DAYS = tuple(f"{weather} on the {place}" for weather in ("Rain", "Calm", "Fog", "Frost", "Thaw") for place in PLACES)
WORDS = (
    "almanacs", "barometers", "coal", "drift nets", "ebb", "fog signals", "gales", "herring", "ink", "kelp", "lamps",
    "mussels", "north wind", "oil", "pilots", "rope", "salt", "tar", "undertow", "varnish", "weed", "yawls",
)  # fmt: skip
INDEX = tuple(f"{word}, {7 + 3 * at % 20}, {9 + 5 * at % 22}" for at, word in enumerate(WORDS * 4))
AFTER = {"title": "About the Author", "paragraphs": ["Ottilie Varne was invented for this book. " * 6]}
NOTES = {"title": "Notes", "paragraphs": [f"{n}. As told at the pump, and nowhere else." for n in range(1, 20)]}
FOREWORD = {"title": "Foreword", "paragraphs": prose(count=1, words=900, seed=3)[0]["paragraphs"]}

PLAIN = Design(prose())

SOUND: dict[str, Design] = {
    "plain": PLAIN,
    "folio-in-the-head": PLAIN.but(folio="head", openings="any", contents="plain"),
    "folio-in-the-margin": PLAIN.but(folio="side", heads=False, outside=72.0),
    "folio-outside": PLAIN.but(folio="outer", sinkage=120.0),
    "no-folios": PLAIN.but(folio="none", front=("half", "title", "imprint", "dedication")),
    "roman-front-matter": PLAIN.but(
        front=(*FRONT, "figures"), front_numbers="i",
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
    "french, contents at the end": PLAIN.but(
        chapters=prose(titles=FRENCH), lang="fr", contents_name="Table", contents_at_end=True, front=FRONT[:-1],
        title="La gardienne du feu bas", document_title="La gardienne du feu bas",
    ),
    "hungarian": PLAIN.but(
        chapters=prose(titles=HUNGARIAN, number=tuple(f"{n}. fejezet" for n in range(1, 7))), lang="hu",
        contents_name="Tartalom", title="A mélyfény őre", document_title="A mélyfény őre", openings="any",
    ),
    "arabic numbers alone": PLAIN.but(
        chapters=prose(titles=(None,) * 6, number=tuple("123456")), front=FRONT[:-1], openings="any"
    ),
    "back matter": PLAIN.but(chapters=(*prose(number=NUMERALS), NOTES, AFTER)),
    "index": PLAIN.but(chapters=(*prose(), {"title": "Index", "paragraphs": [], "rows": INDEX})),
    "foreword in roman": PLAIN.but(
        front=(*FRONT, "foreword"), foreword=FOREWORD, front_numbers="i", openings="any"
    ),
    "foreword before the contents": PLAIN.but(
        front=(*FRONT[:-1], "foreword", "contents"), foreword=FOREWORD, front_numbers="i"
    ),
    "much before the text": PLAIN.but(
        front=("half", "series", "title", "imprint", "dedication", "contents", "epigraph", "half")
    ),
    "frontispiece": PLAIN.but(front=("half", "frontispiece", *FRONT[1:]), subtitle="A novel of the outer islands"),
    "long titles": PLAIN.but(chapters=prose(titles=LONG)),
    "breaks marked": PLAIN.but(scenes=5, scene_mark="* * *"),
    "breaks left white": PLAIN.but(scenes=4, openings="any"),
    "extracts": PLAIN.but(extracts=6),
    "footnotes": PLAIN.but(notes=7, openings="any"),
    "raised initials": PLAIN.but(begins="raised"),
    "small capitals to begin": PLAIN.but(begins="small-capitals", folio_set="– 1 –"),
    "headings to the left": PLAIN.but(heading="left", sinkage=40.0, below=24.0, folio="outer", openings="any"),
    "paragraphs apart": PLAIN.but(spaced=True, openings="any"),
    "stories": PLAIN.but(
        chapters=tuple(chapter | {"by": by} for chapter, by in zip(prose(), AUTHORS, strict=True)),
        verso_head="Tern Island Stories",
    ),
    "author on versos": PLAIN.but(verso_head="Ottilie Varne", folio="head"),
    "forty short chapters": PLAIN.but(chapters=prose(count=40, words=330, titles=DAYS), openings="any"),
    "forty pages of one": PLAIN.but(chapters=prose(count=40, words=120, titles=DAYS), openings="any", heads=False),
    "poems": PLAIN.but(
        chapters=prose(count=40, words=110, titles=DAYS), verse=True, heading="poem", sinkage=0.0, below=4.0,
        openings="any", heads=False,
    ),
}  # fmt: skip
