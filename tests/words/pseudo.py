"""A language made of English on the fly: every vowel bears an accent, so that a word that is not looked up is seen."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from worker.words.catalogue import Catalogue, shipped

ACCENTED = str.maketrans("aeiouyAEIOUY", "áéíóúýÁÉÍÓÚÝ")
"""All of them are in Windows-1252, which a proof is set in."""
TAG = "en-x-marked"
ITEM = re.compile(r"^(?P<name>[\w.-]+) = (?P<text>'''.*?'''|'[^']*'|\"[^\"]*\")", re.MULTILINE | re.DOTALL)


def marked(text: str) -> str:
    """A text with all its letters marked, its placeholders left."""
    return "".join(part if part.startswith("{") else part.translate(ACCENTED) for part in re.split(r"(\{\w+\})", text))


def pseudo_language(folder: Path) -> Catalogue:
    """The English files copied with every text marked; the tag is another, and the plural rules stay."""
    for path in sorted(shipped("en").folder.glob("*.toml")):
        written = path.read_text("utf-8")
        if path.stem == "language":
            written = written.replace("'en-GB'", f"'{TAG}'")
        else:
            written = ITEM.sub(lambda item: f"{item['name']} = {marked(item['text'])}", written)
        tomllib.loads(written)
        (folder / path.name).write_text(written, "utf-8")
    return Catalogue(folder)
