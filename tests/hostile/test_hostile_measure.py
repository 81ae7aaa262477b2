"""Small hostile files measured in this process: facts come back, and a bad page costs that page alone."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.hostile import bombs, damage, excess
from worker.measure import measure
from worker.measure.models import Measurements


def assert_sound_neighbour(measurements: Measurements) -> None:
    """The page after the hostile one is measured as if nothing were the matter; a page that is lost is a repair."""
    assert len(measurements.pages) == 2 or measurements.document.repaired
    neighbour = measurements.pages[-1]
    assert neighbour.unread is None
    assert neighbour.text is not None
    assert neighbour.lines[0].text.startswith("The island")


@pytest.mark.parametrize("place", damage.MISPLACED)
def test_the_wrong_kind_of_object(tmp_path: Path, place: str) -> None:
    for path in damage.misplaced(tmp_path / "hostile.pdf", place):
        measurements = measure(path)
        assert measurements.document.pages == 2
        assert_sound_neighbour(measurements)


@pytest.mark.parametrize("fault", damage.BAD_FONTS)
def test_a_bad_font(tmp_path: Path, fault: str) -> None:
    assert_sound_neighbour(measure(damage.bad_font(tmp_path / "hostile.pdf", fault)))


@pytest.mark.parametrize("key", ["FontFile", "FontFile2", "FontFile3"])
def test_a_font_program_that_is_no_font(tmp_path: Path, key: str) -> None:
    measurements = measure(damage.garbage_font_program(tmp_path / "hostile.pdf", key))
    assert_sound_neighbour(measurements)
    assert any(font.embedded and font.name == "TernSerif" for font in measurements.fonts)


@pytest.mark.parametrize("box", damage.ABSURD_BOXES.values(), ids=damage.ABSURD_BOXES.keys())
def test_an_absurd_media_box(tmp_path: Path, box: bytes) -> None:
    measurements = measure(damage.absurd_box(tmp_path / "hostile.pdf", box))
    assert_sound_neighbour(measurements)
    assert all(abs(edge) < 1e9 for page in measurements.pages for edge in page.media)


def test_markup_is_kept_as_it_stands(tmp_path: Path) -> None:
    measurements = measure(damage.markup(tmp_path / "hostile.pdf"))
    assert measurements.document.title is not None
    assert "<script>" in measurements.document.title
    assert measurements.document.layers


def test_measurements_survive_the_way_to_json_and_back(tmp_path: Path) -> None:
    """Whatever a file holds (lone surrogates, control characters, endless numbers), it can be written and read."""
    for builder in (damage.markup, damage.absurd_user_unit, excess.unicode_bomb, excess.form_calls_itself):
        measurements = measure(builder(tmp_path / "hostile.pdf"))
        again = Measurements.model_validate_json(measurements.model_dump_json())
        assert len(again.pages) == len(measurements.pages)


@pytest.mark.parametrize("way", bombs.WITHIN)
def test_every_filter_of_text_is_undone(tmp_path: Path, way: str) -> None:
    """ISO 32000-1 Table 6: those that are not for pictures alone."""
    page = measure(bombs.a_line(tmp_path / "sound.pdf", way)).pages[0]
    assert page.unread is None
    assert page.lines[0].text == "The island has two harbours"


@pytest.mark.parametrize("seed", range(60))
def test_bytes_changed_at_random(tmp_path: Path, seed: int) -> None:
    """A dozen bytes of a sound file changed: measured, or found unreadable."""
    draw = random.Random(seed)
    data = bytearray(damage.sound(tmp_path / "sound.pdf").read_bytes())
    for _ in range(12):
        data[draw.randrange(9, len(data))] = draw.randrange(256)
    path = tmp_path / "hostile.pdf"
    path.write_bytes(data)
    measurements = measure(path)
    assert measurements.document.unreadable or len(measurements.pages) == measurements.document.pages
