"""Lengths, sizes and page ranges against published conversions, and the laws that hold between them.

1 in = 25.4 mm exactly (international inch, 1959); 1 in = 72 units of user space (ISO 32000-1 8.3.2.3).
"""

from __future__ import annotations

import pickle
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from worker.units import (
    POINTS_IN,
    Length,
    Unit,
    UnitError,
    in_unit,
    page_ranges,
    parse_length,
    parse_size,
    runs,
    show_area,
    show_length,
    show_number,
    show_size,
)

units = st.sampled_from(sorted(POINTS_IN))
figures = st.decimals(min_value=0, max_value=1000, places=4)
pages = st.lists(st.integers(min_value=1, max_value=5000), max_size=60)


@pytest.mark.parametrize(
    ("text", "points"),
    [
        ("1 in", 72), ("25.4 mm", 72), ("36pt", 36), (".5 in", 36), ("0.125 in", 9), ("3 mm", 8.504),
        # ISO 216: A4, A5, A6, B5, in millimetres; points by 72 / 25.4, to 0.001
        ("210 mm", 595.276), ("297 mm", 841.890), ("148 mm", 419.528), ("105 mm", 297.638),
        ("176 mm", 498.898), ("250 mm", 708.661),
        # trims of the trade (common practice, no source): B format, royal, 170 × 244 mm
        ("129 mm", 365.669), ("198 mm", 561.260), ("156 mm", 442.205), ("234 mm", 663.307),
        ("170 mm", 481.890), ("244 mm", 691.654),
    ],
)  # fmt: skip
def test_published_lengths(text: str, points: float) -> None:
    assert parse_length(text) == pytest.approx(points, abs=0.0005)


@pytest.mark.parametrize(
    "text",
    ["", "in", "6", "6 inches", "6 cm", "0,5 in", "1e3 mm", "nan in", "inf mm", "--1 in", "1 in 2", "9" * 400 + " in",
     "1" + "0" * 11 + " in", "٣ mm x"],
)  # fmt: skip
def test_what_is_no_length(text: str) -> None:
    with pytest.raises(UnitError) as error:
        parse_length(text)
    assert "\n" not in str(error.value)
    assert len(str(error.value)) < 160


@given(figures, units)
def test_a_length_means_its_figure_times_its_unit(figure: object, unit: Unit) -> None:
    assert parse_length(f"{figure} {unit}") == pytest.approx(float(str(figure)) * POINTS_IN[unit])


@given(st.floats(min_value=-10_000, max_value=10_000), units)
def test_there_and_back(points: float, unit: Unit) -> None:
    assert in_unit(points, unit) * POINTS_IN[unit] == pytest.approx(points)


@given(st.floats(min_value=-10_000, max_value=10_000))
def test_a_length_written_by_itself_is_read_back_exactly(points: float) -> None:
    length = Length(points)
    assert length == points
    assert parse_length(length.text) == pytest.approx(points, abs=1e-11)
    assert pickle.loads(pickle.dumps(length)).text == length.text  # noqa: S301 - our own bytes


@given(st.floats(min_value=0.05, max_value=2000), st.floats(min_value=0.11, max_value=50), units)
def test_lengths_that_differ_by_more_than_rounding_look_different(points: float, more: float, unit: Unit) -> None:
    """A margin that is found short must not read the same as what is asked."""
    assert show_length(points, unit) != show_length(points + more, unit)


def test_lengths_as_people_read_them() -> None:
    assert show_length(68.4, "in") == "0.95 in (24.1 mm)"
    assert show_length(36, "mm") == "12.7 mm (0.5 in)"
    assert show_length(36, "pt") == "36 pt (12.7 mm)"
    assert show_area(432, 648, "in") == "6 × 9 in (152.4 × 228.6 mm)"
    assert show_area(parse_length("170 mm"), parse_length("244 mm"), "mm") == "170 × 244 mm (6.693 × 9.606 in)"
    assert show_number(-0.0001, 2) == "0"


@given(pages)
def test_page_ranges_hold_the_pages_and_no_others(numbers: list[int]) -> None:
    read: list[int] = []
    for part in filter(None, page_ranges(numbers).split(", ")):
        first, _, last = part.partition("–")
        read += range(int(first), int(last or first) + 1)
    assert read == sorted(set(numbers))


@given(pages)
def test_runs_are_as_long_as_they_can_be(numbers: list[int]) -> None:
    found = runs(numbers)
    assert all(second[0] > first[1] + 1 for first, second in pairwise(found))


def test_page_ranges_as_people_write_them() -> None:
    assert page_ranges([5, 6, 1, 3, 3]) == "1, 3, 5–6"
    assert page_ranges([]) == ""
    assert page_ranges(range(1, 401)) == "1–400"


@pytest.mark.parametrize(
    ("text", "count"), [("400 MB", 400_000_000), ("1 GB", 10**9), ("1.5kB", 1500), ("2 MiB", 2 << 20)]
)
def test_file_sizes(text: str, count: int) -> None:
    """SI prefixes are powers of ten, Ki and Mi powers of two (IEC 80000-13)."""
    assert parse_size(text) == count


def test_file_sizes_as_people_read_them() -> None:
    assert [show_size(count) for count in (12, 1500, 400_000_000, 10**9)] == ["12 B", "1.5 kB", "400 MB", "1 GB"]
    with pytest.raises(UnitError):
        parse_size("400")
