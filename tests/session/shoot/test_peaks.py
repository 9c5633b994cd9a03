"""The best focus is kept with the set-up once it was passed, and given back for the same region and picture size."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from session.frame import camera_messages as say
from session.frame.ports import KeptPeak
from session.live.decode import Stream, grey
from session.live.instruments import LiveReading
from session.live.meter import FocusReading, Trend
from session.set.setup import Region
from session.shoot.acts import SwitchLiveView
from session.shoot.events import PeakKept
from tests.support.live_pictures import live_jpeg, scene
from tests.support.memory_log import PLACE
from tests.support.scripted import Studio

LIGHT = scene()
PICTURE = grey(live_jpeg(LIGHT))
REGION = Region()


def passed(best: float, *, past: bool = True) -> LiveReading:
    """A reading after the best, of that contrast, was passed."""
    focus = FocusReading(best * 0.8, best, 1.0, 0.8, Trend.FALLING, past)
    return LiveReading(0.0, Stream.GOOD, 15.0, picture=PICTURE, focus=focus)


def test_focus_turned_past_its_best_in_live_view_keeps_the_peak() -> None:
    studio = Studio()
    studio.do(SwitchLiveView(True))
    assert studio.shoot.live.peaks.kept_peak() is None
    for n, off in enumerate([*[-3.0] * 4, *np.arange(-3, 3.01, 0.25)]):
        studio.clock.now_s += 1 / 15
        studio.deliver(say.LiveFrame(live_jpeg(LIGHT, blur_px=abs(off), seed=n), studio.clock.now_s))
    kept = studio.shoot.live.peaks.kept_peak()
    history = studio.shoot.live.instruments.focus_history()
    assert kept is not None
    assert kept.contrast == pytest.approx(max(value for _, value in history), rel=0.05)
    assert (kept.region, kept.live_width_px) == (REGION, 512)
    assert studio.log.kept_peak(PLACE, 1) == kept
    assert [event.peak for event in studio.events if isinstance(event, PeakKept)][-1] == kept


def test_best_that_wasnt_passed_is_no_peak() -> None:
    studio = Studio()
    studio.shoot.live.peaks.see(passed(4.0, past=False))
    assert studio.shoot.live.peaks.kept_peak() is None


@pytest.mark.parametrize(("second", "kept"), [(4.03, 4.0), (3.9, 3.9), (4.5, 4.5)])
def test_peak_is_kept_anew_when_it_differs_by_more_than_a_hundredth(second: float, kept: float) -> None:
    studio = Studio()
    for best in (4.0, second):
        studio.shoot.live.peaks.see(passed(best))
    assert studio.log.kept_peak(PLACE, 1).contrast == kept


def test_peak_of_an_earlier_day_is_found_for_the_same_region_only() -> None:
    studio = Studio()
    earlier = KeptPeak(5.0, REGION, 512, studio.clock.now())
    studio.log.peaks[PLACE.piece_id, 1] = earlier
    studio.do(SwitchLiveView(True))
    assert studio.said(PeakKept)[-1] == PeakKept(earlier)
    revision = studio.shoot.shoot_state.revision
    studio.revise(replace(revision, region=Region(0.1, 0.1, 0.2, 0.2)))
    assert studio.said(PeakKept)[-1] == PeakKept(None)
    studio.revise(replace(studio.shoot.shoot_state.revision, region=REGION))
    assert studio.said(PeakKept)[-1] == PeakKept(earlier)
    studio.go_to(replace(PLACE, piece_id="piece-2", piece="barrel 7"))
    assert studio.said(PeakKept)[-1] == PeakKept(None)


def test_peak_measured_at_another_picture_size_is_no_measure() -> None:
    studio = Studio()
    studio.log.peaks[PLACE.piece_id, 1] = KeptPeak(5.0, REGION, 1024, studio.clock.now())
    studio.shoot.live.peaks.see(passed(4.0, past=False))
    assert studio.shoot.live.peaks.kept_peak() is None


def test_peak_of_a_draft_waits_for_its_first_frame() -> None:
    studio = Studio()
    studio.shoot.shoot_state.revision_id = ""
    studio.shoot.live.peaks.see(passed(4.0))
    assert studio.log.peaks == {}
    assert studio.shoot.live.peaks.kept_peak() is not None
    studio.ask()
    studio.shoot.live.peaks.see(passed(4.0))
    assert studio.log.kept_peak(PLACE, 1).contrast == 4.0


def test_log_that_refuses_gets_the_peak_later() -> None:
    studio = Studio()
    studio.log.refusing = True
    studio.shoot.live.peaks.see(passed(4.0))
    assert studio.log.peaks == {}
    studio.log.refusing = False
    studio.wait(60)
    assert studio.log.kept_peak(PLACE, 1) is not None
