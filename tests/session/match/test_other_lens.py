"""The set-up with another lens: values worked out here by hand from f·(1/m + 1/P) and N·(1 + m/P)."""

from __future__ import annotations

from session.match.other_lens import on_lens, other_lens_words
from session.plan.arrangements import Build
from session.set.setup import Arrangement, Revision, Settings
from session.set.things import Body, Lens

BODY = Body(name="W", sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000, sync_time_s=0.005)
SET = Revision(
    settings=Settings(1 / 200, 11.0, 100), arrangement=Arrangement("Long", 100.0, 0.5), working_distance_mm=250.0
)


def test_nobody_has_measured_the_distance_from_another_lens_yet_and_the_words_reckon_it() -> None:
    """60·(2 + 1) = 180 mm to the pupil, of which 20 mm lie behind the front."""
    short = Lens(name="Short", focal_length_mm=60.0, closest_magnification=1.0, front_to_pupil_mm=20.0)
    made = on_lens(SET, Build(BODY, short), 1.0)
    assert (made.arrangement.lens, made.settings.f_number, made.working_distance_mm) == ("Short", 11.0, None)
    assert "160 mm from its front to the piece" in list(other_lens_words(SET, Build(BODY, short), 1.0))


def test_a_lens_with_a_ring_leaves_the_aperture_to_the_hand() -> None:
    ring = Lens(name="Ring", focal_length_mm=60.0, closest_magnification=1.0, electronic_aperture=False)
    assert on_lens(SET, Build(BODY, ring), 1.0).settings.f_number is None
