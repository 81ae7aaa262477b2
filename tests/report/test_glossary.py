"""Trade words are explained once, where they are first used, and only those that are used."""

from __future__ import annotations

import html
import re

from hypothesis import given
from hypothesis import strategies as st
from markupsafe import Markup

from worker.report.glossary import Glossary, terms
from worker.report.words import shown

TERMS = terms().meanings


def test_a_word_is_explained_at_its_first_place_alone() -> None:
    glossary = Glossary()
    first = glossary.explained("A widow and two Orphans; the widow stays.")
    assert first == Markup(
        'A <a class="term" href="#word-widow">widow</a> and two <a class="term" href="#word-orphan">Orphans</a>; '
        "the widow stays."
    )
    assert glossary.explained("Another orphan.") == "Another orphan."
    assert [(id, word) for id, word, _ in glossary.entries()] == [("word-orphan", "orphan"), ("word-widow", "widow")]


def test_the_longer_word_is_meant() -> None:
    glossary = Glossary()
    glossary.explained("The imprint page, and a half title.")
    assert [word for _, word, _ in glossary.entries()] == ["half title", "imprint page"]


def test_parts_of_words_are_not_meant() -> None:
    assert list(_after("widower, retroverso, unembedded, trimmedly").entries()) == []


def _after(text: str) -> Glossary:
    glossary = Glossary()
    glossary.explained(text)
    return glossary


@given(st.text(st.one_of(st.sampled_from("<>&\"' "), st.characters(codec="utf-8"))), st.sampled_from(sorted(TERMS)))
def test_what_comes_from_a_file_stays_text(text: str, word: str) -> None:
    """Nothing but our own links is markup, and the words are those that were given."""
    marked = str(Glossary().explained(f"{text} {word}"))
    without = re.sub(r'<a class="term" href="#word-[a-z-]+">|</a>', "", marked)
    assert "<" not in without
    assert html.unescape(without) == shown(f"{text} {word}")


def test_every_word_has_a_meaning_that_does_not_repeat_it() -> None:
    for word, meaning in TERMS.items():
        assert meaning.endswith(".")
        assert not re.search(rf"\b{re.escape(word)}\b", meaning, re.IGNORECASE)
