"""What is said of a series of solos."""

import math
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from session.match.key_to_fill import KeyToFill
from session.match.light_mix import LightMix
from session.match.light_sum import LightSum, Misfit, SeriesFinding, SummedLight
from session.match.mix_to_match import MatchedMix
from session.match.solo_series import SeriesFrame, SeriesStep, StepKind
from session.set.setup import Revision
from tui.words.solo_words import (
    days_text,
    matched_text,
    mix_text,
    over_key_words,
    ratio_line,
    sum_words,
)

LIGHTS = (SummedLight("key", 0.65, 0.0, 0.01), SummedLight("fill", 0.35, -0.2, 0.01))


def summed(*findings: SeriesFinding) -> LightSum:
    return LightSum(LIGHTS, ((0.01,) * 3,) * 3, findings)


def test_each_light_has_its_share_and_its_change_with_the_true_minus() -> None:
    differs = SeriesFinding(Misfit.POWER, ("fill",), "fill is 0.2 EV darker together than alone.")
    assert sum_words(summed(differs))[1:] == ["key: 65 % of the light", "fill: 35 % of the light, −0.2 EV"]


def test_no_share_is_told_where_the_cause_can_not_be_told() -> None:
    unsure = SeriesFinding(Misfit.UNSURE, (), "Which, can't be told.")
    assert sum_words(summed(unsure)) == ["Which, can't be told."]


def test_powers_that_match_the_reference_say_what_is_left_and_what_a_light_lacks() -> None:
    row = (0.01, -0.04, math.nan)
    near = MatchedMix({"key": -0.5}, (row, (0.0, 0.02, 0.0), row))
    assert matched_text(near, {"key": 0.04}) == "As the reference: within 0.04 EV in each ninth of the picture."
    far = MatchedMix({"key": -0.5}, (row, (0.0, 0.0, 0.31), row))
    assert matched_text(far, {}).startswith("Nearest to the reference, but 0.3 EV brighter right: a light stands")
    assert "key 0.7 EV more would be as the reference" in matched_text(near, {"key": 0.7, "fill": -0.05})


def test_the_lighting_ratio_is_told_with_its_ev_and_each_light_beside_the_key() -> None:
    ratio = KeyToFill("key", ("fill",), 3.2, {"fill": -1.14, "rim": 0.02, "hair": 0.5})
    assert ratio.words == "key + fill to fill 3.2 : 1 (1.7 EV)"
    assert over_key_words(ratio) == ["fill 1.1 EV under key", "rim as bright as key", "hair 0.5 EV over key"]
    assert replace(ratio, ratio=1200.4).number == "1200 : 1"
    without = replace(ratio, ratio=math.inf, over_key_ev={"fill": -math.inf})
    assert over_key_words(without) == ["fill shows no light"]
    mixed = LightMix(np.zeros((1, 1, 3), np.uint8), 0.0, without, 0.0)
    assert ratio_line(mixed) == "NO FILL" and mix_text(mixed) == "Region: 0 % burnt; as bright as shot."


def test_a_series_of_several_days_says_so_by_the_days_of_here() -> None:
    noon = datetime(2026, 11, 2, 12).astimezone()

    def step(after: timedelta) -> SeriesStep:
        return SeriesStep(StepKind.SOLO, "key", SeriesFrame("f", 1, noon + after, Revision(), "/1.jpg", "key"))

    same_day = (step(timedelta()), step(timedelta(hours=3)), SeriesStep(StepKind.AMBIENT))
    assert days_text(same_day) == ""
    assert "2 days, 2026-11-02 to 2026-11-04" in days_text((*same_day, step(timedelta(days=2))))
