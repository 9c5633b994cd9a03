"""Another body behind the same set-up: the numbers worked out here by hand, for a lens with pupils alike."""

from dataclasses import replace

from session.match.other_body import on_body, other_body_words
from session.set.setup import Arrangement, Revision, Settings
from session.set.things import Body, Lens

SMALL = Body(
    name="Wendle 16", sensor_width_mm=24, sensor_height_mm=16, pixels_across=6000, pixels_down=4000, sync_time_s=1 / 200
)
OLD = Revision(settings=Settings(1 / 200, 8.0, 100), arrangement=Arrangement("close-up", 100.0, 0.5))


def body(**changes: object) -> Body:
    return SMALL.model_copy(update={"name": "Wendle 24", **changes})


def test_the_same_body_changes_nothing() -> None:
    assert other_body_words(OLD, SMALL, SMALL) == ()
    assert other_body_words(OLD, SMALL, body()) == ()


def test_a_larger_sensor_wants_a_larger_ratio_a_smaller_opening_and_more_light() -> None:
    """k = 1.5: m 0.75; N_eff 8·1.5 = 12 grows to 18, so N = 18 / 1.75 = 10.3; 2·log2(1.5) = 1.2 EV.

    u = f (1/m + 1): 300 mm and 233 mm, so 67 mm nearer; f' = 300 / (1/0.75 + 1) = 129 mm keeps it.
    """
    told = other_body_words(OLD, SMALL, body(sensor_width_mm=36, sensor_height_mm=24))
    assert told == (
        "1:1.3 instead of 1:2 for the same field",
        "f/10 instead of f/8 for the same depth of field",
        "1.2 EV more light for it",
        "with this lens the camera stands 67 mm nearer, so the perspective can't be the same; a lens of 129 mm would "
        "keep it",
    )


def test_what_else_differs_is_told() -> None:
    slower = body(sync_time_s=1 / 100, pixels_across=9000, sensor_height_mm=18, mount="B")
    told = other_body_words(OLD, SMALL.model_copy(update={"mount": "A"}), slower)
    assert told == (
        "the lens's mount A doesn't fit the body's B",
        "the sensor's sides are in another ratio: crop to the old one, for the field can't be the same all round",
        "1/100 s instead of 1/200 s, its sync time: 1.0 EV more ambient",
        "a pixel of then is 1.5 pixels now, also in the blur limit",
    )


def test_a_lens_that_closes_no_further_stays_at_its_smallest_stop_and_lacks_depth() -> None:
    """22·1.5·1.5 / 1.75 = 28.3: 2·log2(28.3 / 22) = 0.7 EV beyond f/22; of 1.17 EV more light 0.4 are left."""
    lens, wide = Lens(name="close-up", focal_length_mm=100.0), body(sensor_width_mm=36, sensor_height_mm=24)
    closed = replace(OLD, settings=replace(OLD.settings, f_number=22.0))
    assert on_body(closed, SMALL, wide, lens).settings.f_number == 22.0
    told = other_body_words(closed, SMALL, wide, lens)
    assert told[1:3] == (
        "the lens closes down to f/22 only: depth 0.7 EV off can't be the same",
        "0.4 EV more light for it",
    )
