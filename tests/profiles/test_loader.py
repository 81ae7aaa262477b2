"""A profile is read strictly: an error names the key, its line and the nearest key that there is."""

from __future__ import annotations

import pytest

from tests.judge.factory import PROFILE
from worker.profiles import Profile, ProfileError, UnknownProfile, builtin_profiles, load_profile, parse_profile_toml
from worker.units import page_ranges, parse_length, show_length


def test_every_built_in_printer_survives_the_way_through_json() -> None:
    profiles = builtin_profiles()
    assert {"common-paperback"} < set(profiles)
    assert len(profiles) >= 5
    for profile in profiles.values():
        assert Profile.model_validate_json(profile.model_dump_json()) == profile


def test_rules_of_thumb() -> None:
    """Common practice, no source: 0.5 in on both sides is too tight, and a book of 800 pages wants 0.95 in."""
    interior = load_profile("common-paperback").interior
    assert interior.margins.inside_at(800) == pytest.approx(0.95 * 72)
    assert (interior.margins.inside_at(40) or 0) > 36
    assert interior.margins.outside == 36.0
    assert interior.trim_near(432, 648) is not None
    assert interior.trim_near(481.89, 691.654) is interior.trim_near(481.68, 691.92)  # 170 × 244 mm, 6.69 × 9.61 in


def test_an_unknown_key_is_named_with_its_line_and_its_neighbour() -> None:
    text = PROFILE.replace('head = "0.3 in"', 'heed = "0.3 in"')
    line = text.splitlines().index('heed = "0.3 in"') + 1
    with pytest.raises(ProfileError) as error:
        parse_profile_toml(text, source="own.toml")
    message = str(error.value)
    assert "heed" in message
    assert f"{line}" in message
    assert "head" in message
    assert "\n" not in message


@pytest.mark.parametrize(
    "text",
    ["", "[", "id = 3", PROFILE.replace("0.3 in", "0.3"), PROFILE.replace("0.9 in", "nan in"),
     PROFILE.replace('id = "test-press"', ""), PROFILE.replace("least = 4,", "least = 4000,"), "a=" + "[" * 5000],
)  # fmt: skip
def test_what_is_wrong_is_one_error_and_no_traceback(text: str) -> None:
    with pytest.raises(ProfileError) as error:
        parse_profile_toml(text, source="own.toml")
    assert str(error.value)


def test_an_unknown_printer_names_those_that_exist() -> None:
    with pytest.raises(UnknownProfile) as error:
        load_profile("nobody")
    assert all(profile in str(error.value) for profile in builtin_profiles())


@pytest.mark.parametrize(("text", "points"), [("1 in", 72), ("25.4 mm", 72), ("210 mm", 595.276), ("36 pt", 36)])
def test_lengths(text: str, points: float) -> None:
    """1 in = 25.4 mm = 72 pt; A4 is 210 mm wide (ISO 216)."""
    assert parse_length(text) == pytest.approx(points, abs=0.001)


def test_what_people_read() -> None:
    assert show_length(36, "in") == "0.5 in (12.7 mm)"
    assert page_ranges([1, 3, 5, 6, 7]) == "1, 3, 5–7"
    assert page_ranges([5, 6]) == "5–6"
