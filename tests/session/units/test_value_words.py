"""Parts of a set-up in words: what is typed for a light comes back as it was typed."""

from __future__ import annotations

import pytest

from session.units.value_words import name_words, value_words
from tui.shell.choices import parse_light


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("azimuth_deg=60 left", "side 60° left"),
        ("azimuth_deg=60 right", "side 60° right"),
        ("azimuth_deg=60° right", "side 60° right"),
        ("azimuth_deg=-60", "side 60° right"),
        ("azimuth_deg=−60", "side 60° right"),
        ("azimuth_deg=300", "side 60° right"),
        ("azimuth_deg=0", "side 0°"),
        ("azimuth_deg=180", "side 180°"),
        ("elevation_deg=35 up", "height 35° up"),
        ("elevation_deg=-10", "height 10° down"),
        ("power_ev=1/4", "power 1/4 (−2 EV)"),
        ("power_ev=-2", "power 1/4 (−2 EV)"),
        ("distance_mm=620", "distance 620 mm"),
    ],
)
def test_a_light_that_was_typed_reads_as_it_was_typed(typed: str, words: str) -> None:
    _, changes = parse_light(f"key,{typed}")
    ((name, value),) = changes.items()
    assert f"{name_words(name)} {value_words(name, value)}" == words


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("light key azimuth_deg", 300.0, "light key side 60° right"),
        ("exposure_s", 0.005, "exposure time 1/200 s"),
        ("f_number", 11.0, "aperture f/11"),
        ("f_number", None, "aperture —"),
        ("battery_percent", 81, "battery 81 %"),
        ("extension_mm", 36.0, "extension 36 mm"),
        ("confirmed", ("stabiliser", "focus locked"), "confirmed by hand stabiliser, focus locked"),
        ("confirmed", (), "confirmed by hand —"),
        ("reversed", True, "reversed yes"),
        ("notes", "", "notes —"),
    ],
)
def test_names_and_values_of_a_set_up_read_as_people_write_them(name: str, value: object, words: str) -> None:
    assert f"{name_words(name)} {value_words(name, value)}" == words
