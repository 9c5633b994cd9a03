"""The frames of a focus series in the log: with what they may be gone on with, and what they come to."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

from session.frame.series_plane import MovedBy, SeriesPlane
from session.frame.shot_plane import ShotPlane
from session.frame.states import FrameState
from session.series.series_look import SeriesLooker
from session.set.kit import demo_kit
from session.set.setup import Arrangement, Revision, Settings
from tui.shell.shot_series import lens_of, look_at_series, other_set_words

KIT = demo_kit()
REVISION = Revision(
    1, 1, settings=Settings(1 / 200, 8.0, 100), arrangement=Arrangement("", 100.0, 1.0), body=KIT.body[0].name
)


class Record:
    """What is asked of a frame's record."""

    camera_serial = camera_model = ""
    setup = "01.1"
    frame_id = "f"
    picture = previews = None

    def __init__(self, revision: Revision) -> None:
        self.revision = revision
        plane = SeriesPlane("s", 0.0, 2, 0.5, 0.7, MovedBy.RAIL)
        self.shot_plane = ShotPlane("f", 1, plane, FrameState.LOGGED, False)


def record(**settings: Any) -> Any:
    return cast(Any, Record(replace(REVISION, settings=replace(REVISION.settings, **settings))))


def test_a_series_goes_on_with_the_set_up_and_lens_of_its_frames_only() -> None:
    lens = lens_of(record(), KIT)
    assert other_set_words(record(), REVISION, lens, KIT, "u") == ""
    assert "of set-up 01.1, and 02.1 is in force" in other_set_words(
        record(), replace(REVISION, setup_number=2), lens, KIT, "u"
    )
    words = other_set_words(record(f_number=11.0), REVISION, lens, KIT, "u")
    assert words.endswith("f-number or blur limit: set that again, or plan another (u).")
    assert other_set_words(record(f_number=11.0), REVISION, None, KIT, "u") == "", "nobody knows the camera"


def test_frames_of_two_lenses_and_frames_without_a_picture_are_told() -> None:
    two = look_at_series(SeriesLooker(), (record(), record(f_number=11.0)), KIT)
    assert "with 2 different lenses, ratios, f-numbers or blur limits" in two.trouble
    assert two.missing_mm == (0.5,)
    assert look_at_series(SeriesLooker(), (record(),), KIT).trouble == "frame 1 has no picture here"
