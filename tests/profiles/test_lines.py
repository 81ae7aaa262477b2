"""Where keys stand in TOML and JSON: against a text laid out key by key, and whatever is put around it."""

from __future__ import annotations

import json
import tomllib

from hypothesis import given
from hypothesis import strategies as st

from worker.profiles.lines import Path, json_lines, line_of, toml_lines

TOML = '''# a comment with [brackets] and = signs
id = "a # no comment"
note = """
three lines, with a "quote" and [brackets]
"""   # the value ends here
"quoted key" = 'x'
[interior]   # a table
a.b = 1
trims = [
  { width = "6 in", "height" = "9 in" },

  { width = "]",
  height = "x", page_count = { most = 900 } }, # more
]
inside = [{ pages = 1, least = "1 in" }, { least = "2 in" }]
[[paper.stocks]]
name = "one"
[[paper.stocks]]
name = "two"
[paper.stocks.more]
deep = true
'''


def test_lines_of_toml() -> None:
    tomllib.loads(TOML.replace('"]",\n  height', '"]", height'))  # valid, but for a table over two lines (TOML 1.1)
    lines = toml_lines(TOML)
    expected: dict[Path, int] = {
        ("id",): 2,
        ("note",): 3,
        ("quoted key",): 6,
        ("interior",): 7,
        ("interior", "a", "b"): 8,
        ("interior", "trims"): 9,
        ("interior", "trims", 0, "height"): 10,
        ("interior", "trims", 1): 12,
        ("interior", "trims", 1, "height"): 13,
        ("interior", "trims", 1, "page_count", "most"): 13,
        ("interior", "inside", 1, "least"): 15,
        ("paper", "stocks", 0, "name"): 17,
        ("paper", "stocks", 1, "name"): 19,
        ("paper", "stocks", 1, "more", "deep"): 21,
    }
    assert {path: lines.get(path) for path in expected} == expected


def test_the_nearest_table_answers_for_a_key_that_is_not_there() -> None:
    lines = toml_lines(TOML)
    assert line_of(("interior", "trims", 1, "name"), lines) == 12
    assert line_of(("nowhere",), lines) is None


def test_lines_of_json() -> None:
    text = json.dumps({"id": "a {b}", "interior": {"trims": [{"width": 1}, {"width": [2, 3]}]}}, indent=1)
    lines = json_lines(text)
    assert lines["id",] == 2
    assert lines["interior", "trims", 1, "width"] == 9
    assert text.splitlines()[lines["interior", "trims", 1, "width", 1] - 1].strip() == "3"


keys = st.text("abcdefghij-_0123456789", min_size=1, max_size=8)


def tables(inner: st.SearchStrategy[object]) -> st.SearchStrategy[dict[str, object]]:
    return st.dictionaries(keys, inner, max_size=3)


values = st.recursive(
    st.integers() | st.booleans() | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | tables(inner),
    max_leaves=12,
)


@given(tables(values))
def test_every_key_of_any_json_is_found_on_its_line(table: dict[str, object]) -> None:
    """Python's own writer puts each key and each entry of a list on a line of its own."""
    text = json.dumps(table, indent=2)
    lines = json_lines(text)

    def walk(value: object, path: Path) -> None:
        if path and isinstance(path[-1], str):
            assert text.splitlines()[lines[path] - 1].strip().startswith(json.dumps(path[-1]) + ":")
        entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for key, inner in entries:
            walk(inner, (*path, key))

    walk(table, ())
    counted = [line for path, line in lines.items()]
    assert len(counted) == len(set(counted))


@given(st.text(max_size=200))
def test_no_text_makes_the_scanner_fail(text: str) -> None:
    toml_lines(text)
    json_lines(text)
