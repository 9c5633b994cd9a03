"""Every limit that a number alone is judged by: just within it nothing is said, just beyond it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import SimpleNamespace
from typing import Any, cast

import pytest

from session.checks.drift import drift_verdict as drift
from session.checks.focus.focus_verdict import focus_verdict_of
from session.checks.light import brightness, colour, evenness, flash_fired
from session.checks.light.brightness import Exposure
from session.checks.light.colour import Colour
from session.checks.light.evenness import Evenness
from session.checks.material.checked_picture import Material
from session.frame.finding import Finding, FlawKind, FocusVerdict, Level
from session.picture.exif import Exif
from session.set.setup import Revision

HAIR = 1e-3
EVEN = Evenness(0.0, 0.0, 0.0, 0.0, (0.5, 0.5))
STILL = drift.Drift(0.0, 0.0, 0.0, 1.0, drift.WhatMoved.WHOLE, 0.1, 30, 0.0, 0.0)


def exposed(
    region: float | None = 0.0, whole: float | None = 0.0, burnt: float = 0.0, all_burnt: float = 0.0
) -> Exposure:
    return Exposure(region, whole, 0.0, burnt, burnt, all_burnt, all_burnt, 0.0)


def of_flash(darker_ev: float) -> Sequence[Finding]:
    material = cast(Material, SimpleNamespace(exif=Exif()))
    return flash_fired.against_reference(exposed(-darker_ev, -darker_ev), material, material)


def of_drift(**motion: Any) -> Sequence[Finding]:
    moved = drift.Drift(**{**vars(STILL), **motion})
    return drift.findings(moved, Revision())


def rim(corner_px: float, sd_px: float = 0.1) -> drift.RimMotion:
    return drift.RimMotion(corner_px, 0.0, 0.0, corner_px, sd_px)


# What judges, and its limit written out anew: a limit that is changed must be changed in two places.
ROWS: dict[str, tuple[Callable[[float], Sequence[Finding]], float]] = {
    "brightness of the region, EV": (lambda ev: brightness.findings(exposed(region=ev)), 0.25),
    "brightness of the region, EV darker": (lambda ev: brightness.findings(exposed(region=-ev)), 0.25),
    "brightness of all, EV": (lambda ev: brightness.findings(exposed(whole=ev)), 0.25),
    "burnt out in the region": (lambda share: brightness.findings(exposed(burnt=share)), 0.005),
    "burnt out in the picture": (lambda share: brightness.findings(exposed(all_burnt=share)), 0.005),
    "burnt out beyond the reference": (
        lambda share: brightness.findings(exposed(burnt=share), exposed(burnt=0.1)), 0.105,
    ),
    "weak flash, EV": (of_flash, 0.5),
    "falls off across, EV": (lambda ev: evenness.findings(Evenness(ev, 0.0, 0.0, 0.0, (0.5, 0.5))), 0.5),
    "falls off down, EV": (lambda ev: evenness.findings(Evenness(0.0, -ev, 0.0, 0.0, (0.5, 0.5))), 0.5),
    "dark centre, EV": (lambda ev: evenness.findings(Evenness(0.0, 0.0, -ev, 0.0, (0.5, 0.5))), 0.5),
    "hot spot, EV": (lambda ev: evenness.findings(Evenness(0.0, 0.0, 0.0, ev, (0.5, 0.5))), 1.5),
    "colour, ΔE2000": (lambda value: colour.findings(Colour(value, 0.1, 0.0)), 3.0),
    "mixed light, EV warmer": (lambda ev: colour.findings(Colour(0.0, 0.0, ev)), 0.15),
    "mixed light, EV cooler": (lambda ev: colour.findings(Colour(0.0, 0.0, -ev)), 0.15),
    "drift told, share": (lambda share: of_drift(region_share=share, region_px=100.0), 0.02 / 4),
    "turn told, degrees": (lambda deg: of_drift(rotation_deg=deg), 1.5 / 4),
    "turn told, degrees the other way": (lambda deg: of_drift(rotation_deg=-deg), 1.5 / 4),
    "size told, share": (lambda share: of_drift(scale=1 + share), 0.02 / 4),
    "bump, px": (lambda px: of_drift(rim=rim(px)), 3.0),
    "bump, standard deviations": (lambda px: of_drift(rim=rim(px, 1.0)), 4.0),
}  # fmt: skip


@pytest.mark.parametrize("name", ROWS)
def test_just_within_a_limit_nothing_is_said_and_just_beyond_it_is(name: str) -> None:
    judge, limit = ROWS[name]
    assert judge(limit * (1 - HAIR)) == ()
    assert len(judge(limit * (1 + HAIR))) == 1


@pytest.mark.parametrize(
    ("motion", "limit"), [("region_share", 0.02), ("rotation_deg", 1.5), ("scale", 0.02)], ids=["shift", "turn", "size"]
)
def test_drift_is_a_note_within_its_limit_and_a_caution_beyond(motion: str, limit: float) -> None:
    def level(value: float) -> Level:
        extra = {"region_px": 100.0} if motion == "region_share" else {}
        (finding,) = of_drift(**{motion: 1 + value if motion == "scale" else value, **extra})
        return finding.level

    assert level(limit * (1 - HAIR)) is Level.NOTE
    assert level(limit * (1 + HAIR)) is Level.CAUTION


def test_a_flash_is_weak_up_to_two_and_a_half_stops_and_none_from_there_on() -> None:
    kinds = [of_flash(ev)[0].kind for ev in (2.5 - HAIR, 2.5, 2.5 + HAIR)]
    assert kinds[0] is not FlawKind.NO_FLASH
    assert kinds[1:] == [FlawKind.NO_FLASH, FlawKind.NO_FLASH]


@pytest.mark.parametrize("limit_px", [0.7, 1.0, 4.0])
def test_a_region_is_soft_above_the_limit_and_missed_above_two(limit_px: float) -> None:
    shown = [
        focus_verdict_of(limit_px * share, limit_px) for share in (1 - HAIR, 1.0, 1 + HAIR, 2 - HAIR, 2.0, 2 + HAIR)
    ]
    sharp, soft, missed = FocusVerdict.SHARP, FocusVerdict.SOFT, FocusVerdict.MISSED
    assert shown == [sharp, sharp, soft, soft, soft, missed]
