"""Frames shot at the powers of a mix against the mix: the mock camera's light, which shares no code with the check."""

from __future__ import annotations

import pytest

from session.match.light_sum import Misfit
from session.match.mix_check import check_mix
from session.match.solo_picture import SoloPicture
from session.units.refusals import ImpossibleNumbersError
from tests.support.solo_sets import ShotSolos

CHANGES = {"key": -1.0, "fill": 1 / 3}


def shot(series: ShotSolos, *on: str, **off_ev: float) -> SoloPicture:
    """A frame at the powers of CHANGES, but for lights that are off by so much."""
    before_ev = dict(series.set.power_ev)
    for name, change_ev in CHANGES.items():
        series.set.power_ev[name] += change_ev + off_ev.get(name, 0.0)
    frame = series.set.picture(*on)
    series.set.power_ev = before_ev
    return frame


def test_a_frame_at_the_powers_of_the_mix_is_as_foretold(series: ShotSolos) -> None:
    found = check_mix(shot(series, "key", "fill"), series.solos, series.ambient, CHANGES)
    assert found.sum.fits and abs(found.sum.largest_ev) < 0.05 and not found.untold


def test_the_light_that_is_off_is_named_with_its_ev_and_the_one_that_did_not_fire(series: ShotSolos) -> None:
    (finding,) = check_mix(shot(series, "key", "fill", key=0.4), series.solos, series.ambient, CHANGES).sum.findings
    assert (finding.kind, finding.names) == (Misfit.POWER, ("key",))
    assert finding.amount == pytest.approx(0.4, abs=0.05)
    (finding,) = check_mix(shot(series, "key"), series.solos, series.ambient, CHANGES).sum.findings
    assert (finding.kind, finding.names) == (Misfit.ABSENT, ("fill",))


def test_a_light_that_gives_hardly_anything_in_the_mix_is_not_told_of(series: ShotSolos) -> None:
    found = check_mix(series.set.picture("key"), series.solos, series.ambient, {"fill": -10.0})
    assert found.untold == ("fill",) and found.sum.fits
    with pytest.raises(ImpossibleNumbersError, match="no light of the mix"):
        check_mix(series.together, dict.fromkeys(series.solos, series.ambient), series.ambient, {})


def test_flashes_left_at_the_powers_of_before_are_told_however_far_the_mix_turned_them(series: ShotSolos) -> None:
    for changes in ({"key": -5.0, "fill": -5.0}, {"key": -1.0, "fill": 1.0}, {"key": -1.0, "fill": -1.0}):
        found = check_mix(series.together, series.solos, series.ambient, changes)
        assert found.as_before and not found.no_flash, changes
        assert all(finding.kind is not Misfit.MISFIRED for finding in found.sum.findings)


def test_one_flash_left_at_the_power_of_before_is_not_taken_for_one_that_did_not_fire(series: ShotSolos) -> None:
    series.set.power_ev["key"] -= 3
    frame = series.set.picture("key", "fill")
    series.set.power_ev["key"] += 3
    found = check_mix(frame, series.solos, series.ambient, {"key": -3.0, "fill": 10 / 3})
    (finding,) = found.sum.findings
    assert finding.names == ("fill",) and found.has_power_of_before("fill", finding.amount)
    assert not found.has_power_of_before("fill", -8.0)


def test_a_frame_without_any_flash_is_told_as_such(series: ShotSolos) -> None:
    found = check_mix(series.ambient, series.solos, series.ambient, CHANGES)
    assert found.no_flash and not found.as_before
    assert not check_mix(shot(series, "key"), series.solos, series.ambient, CHANGES).no_flash


def test_a_mix_that_burns_more_than_half_of_the_picture_is_told_as_burnt(series: ShotSolos) -> None:
    changes = {"key": 4.0, "fill": 4.0}
    found = check_mix(series.together, series.solos, series.ambient, changes)
    assert [finding.kind for finding in found.sum.findings] == [Misfit.BURNT]
