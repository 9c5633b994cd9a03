"""What is said of the frame shot at the powers of a mix."""

import math

import pytest

from session.match.light_sum import LightSum, Misfit, SeriesFinding, SummedLight
from session.match.mix_check import MixCheck
from tui.words.headline import Tone
from tui.words.mix_check_words import mix_check_headline

LIGHTS = (SummedLight("key", 0.65, 0.0, 0.01), SummedLight("fill", 0.35, 0.0, 0.01))


def summed(*findings: SeriesFinding, ev: float = 0.01) -> LightSum:
    return LightSum(LIGHTS, ((ev,) * 3,) * 3, findings)


def found(kind: Misfit, name: str = "", amount: float = math.nan) -> SeriesFinding:
    return SeriesFinding(kind, (name,) if name else (), "", amount)


@pytest.mark.parametrize(
    ("finding", "large", "told"),
    [
        (None, "AS FORETOLD", "Frame 7 is as foretold: within 0.01 EV"),
        (found(Misfit.POWER, "key", 0.42), "KEY 0.4 EV MORE", "key gave 0.4 EV more in frame 7 than the mix has"),
        (found(Misfit.POWER, "key", -0.42), "KEY 0.4 EV LESS", "Look at its power"),
        (found(Misfit.POWER, "fill", -0.98), "FILL 1.0 EV LESS", "it has the power of before. Set it"),
        (found(Misfit.POWER), "A LIGHT DIFFERS", "which, can't be told"),
        (found(Misfit.ABSENT, "fill", -9.0), "FILL MISSING", "fill did not fire in frame 7"),
        (found(Misfit.ABSENT, "fill", -4.0), "FILL 4.0 EV LESS", "Look at its power, and whether it fires"),
        (found(Misfit.EXPOSURE, "", -0.3), "0.3 EV DARKER", "Look at the power of all lights, and at exposure time"),
        (found(Misfit.MOVED, "key", 1.4), "PICTURE MOVED", "lies 1.4 px off the solos"),
        (found(Misfit.ELSEWHERE, "", 0.2), "NOT AS FORETOLD", "0.2 EV off in a part of the picture, by no light's"),
        (found(Misfit.UNSURE, "fill"), "FORETOLD ?", "is as foretold: too little of fill shows"),
    ],
)
def test_the_frame_of_a_mix_is_told_by_what_differs(finding: SeriesFinding | None, large: str, told: str) -> None:
    check = MixCheck(summed(*([finding] if finding else [])), ("rim",), {"key": -3.0, "fill": 1.0})
    head = mix_check_headline(check, 7, fits=True)
    assert head.large == large and told in head.sentence
    assert head.sentence.endswith("rim: too little of the light to be told.")


def test_what_the_whole_frame_is_off_is_told_where_no_single_light_explains_it() -> None:
    for kind, amount in ((Misfit.ELSEWHERE, 0.1), (Misfit.SEVERAL, math.nan)):
        head = mix_check_headline(MixCheck(summed(found(kind, "", amount), ev=-1.8), (), {"key": 1.0}), 7, fits=True)
        assert head.large == "NOT AS FORETOLD" and head.tone is Tone.STOP
        assert "up to 1.8 EV off" in head.sentence and "no light's" not in head.sentence
        assert "within" not in head.sentence


def test_a_burnt_frame_says_so_and_no_number() -> None:
    head = mix_check_headline(MixCheck(summed(found(Misfit.BURNT), ev=math.nan), (), {}), 7, fits=True)
    assert head.large == "FORETOLD ?" and "more than half of the picture is burnt" in head.sentence
    assert "nan" not in head.sentence


def test_flashes_left_as_they_were_and_none_at_all_are_said_before_any_light() -> None:
    misfit = summed(found(Misfit.EXPOSURE, "", 1.0), ev=1.0)
    alike = mix_check_headline(MixCheck(misfit, (), {"key": -1.0, "fill": -1.0}, as_before=True), 7, fits=True)
    assert alike.large == "FLASHES NOT SET" and "unless exposure time, aperture or ISO" in alike.sentence
    apart = mix_check_headline(MixCheck(misfit, (), {"key": -1.0, "fill": 0.5}, as_before=True), 7, fits=True)
    assert apart.large == "FLASHES NOT SET" and "ISO" not in apart.sentence
    none = mix_check_headline(MixCheck(misfit, (), {"key": -1.0}, no_flash=True), 7, fits=True)
    assert none.large == "NO FLASH" and "no light fired" in none.sentence


def test_no_light_is_named_as_the_one_to_change_where_the_solos_do_not_add_up() -> None:
    head = mix_check_headline(MixCheck(summed(found(Misfit.POWER, "fill", -0.3)), (), {}), 7, fits=False)
    assert (head.large, head.tone) == ("FORETOLD ?", Tone.CAUTION)
    assert head.sentence.startswith("The solos don't add up, so this may be wrong:")
    assert "Look at its power" not in head.sentence and "Shoot the solos again" in head.sentence
