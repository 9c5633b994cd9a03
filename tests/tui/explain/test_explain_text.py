"""Bars, histograms and origins as text."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.checks.drift.drift_verdict import Drift, WhatMoved, findings
from session.checks.material.check_limits import (
    BAND_SHARE,
    DRIFT_SCALE,
    DRIFT_SHARE,
    DRIFT_TURN_DEG,
    EXPOSURE_EV,
    LIMITS,
    NO_FLASH_EV,
    OWN_ORIGINS,
    WEAK_FLASH_EV,
    origin_of,
)
from session.frame.finding import CheckId, Finding, Level
from tests.support.scripted_table import REVISION
from tui.explain.explain_text import LIMIT_SIGN, _against_limit, bar, light_spread

CHECKS = Path(__file__).parents[3] / "session/checks"
POSITIVE = st.floats(1e-6, 1e6)


@given(POSITIVE, POSITIVE, st.integers(8, 200))
def test_bar_reaches_its_limit_sign_exactly_when_the_value_does(value: float, limit: float, columns: int) -> None:
    cells = bar(value, limit, columns)
    at = cells.index(LIMIT_SIGN)
    assert len(cells) == columns
    assert cells.count(LIMIT_SIGN) == 1
    if value > 1.5 * limit:
        assert at + 1 >= columns - 1 or cells[at + 1] == "█"
    if value < 0.5 * limit:
        assert cells[at - 1] == "·"


def test_bar_is_to_scale() -> None:
    """A value at half its limit, of 100 columns: the limit lies at 100 / 1.25 = 80, the bar ends at 40."""
    assert bar(1.0, 2.0, 100) == "█" * 40 + "·" * 40 + LIMIT_SIGN + "·" * 19
    assert bar(0.0, 2.0, 10).count("█") == 0


def test_spread_puts_a_grey_at_its_ev_under_white() -> None:
    """Code 118 is 18 % of white in sRGB (IEC 61966-2-1): log2 0.18 = −2.47 EV."""
    shares = light_spread(np.full((10, 10, 3), 118, np.uint8), 80)
    assert shares.sum() == pytest.approx(1.0)
    assert -8 + int(shares.argmax()) / 10 == pytest.approx(-2.47, abs=0.1)


def test_spread_counts_white_at_its_bright_end_and_leaves_out_what_is_darker_than_its_dark_one() -> None:
    half = np.zeros((10, 10, 3), np.uint8)
    half[:5] = 255
    shares = light_spread(half, 8)
    assert (shares[-1], shares.sum()) == (0.5, 0.5)


def limited_checks() -> set[str]:
    """Names of the findings that the checks make with a limit, read from their source."""
    names = set()
    for path in CHECKS.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Finding":
                limits = [*node.args[4:5], *(word.value for word in node.keywords if word.arg == "limit")]
                name = ast.unparse(node.args[0]).removeprefix("CheckId.")
                if any(ast.unparse(limit) != "None" for limit in limits):
                    names.add(CheckId[name].value)
    return names


def test_every_check_tells_where_its_limit_comes_from() -> None:
    names = limited_checks()
    assert names >= {"focus", "band", "exposure", "flash", "clipping", "settings", "file"}
    for name in names:
        assert origin_of(Finding(name, Level.NOTE, "")), name


def test_a_check_with_two_limits_tells_the_one_that_was_passed() -> None:
    for limit in (NO_FLASH_EV, WEAK_FLASH_EV):
        assert origin_of(Finding("flash", Level.CAUTION, "", -3.0, -float(limit))) == limit.origin
    assert origin_of(Finding("exposure", Level.CAUTION, "", 0.4, float(EXPOSURE_EV))) == EXPOSURE_EV.origin
    for limit, value in ((DRIFT_SHARE, 90.0), (DRIFT_TURN_DEG, 1.7), (DRIFT_SCALE, 0.03)):
        held = 120.0 if limit is DRIFT_SHARE else float(limit)  # the share is told in pixels
        unit = "px" if limit is DRIFT_SHARE else limit.unit
        assert origin_of(Finding("drift", Level.CAUTION, "", value, held, unit)) == limit.origin
    assert origin_of(Finding("band", Level.CAUTION, "", 0.4, float(BAND_SHARE))) == BAND_SHARE.origin


def test_a_rules_finding_speaks_for_itself() -> None:
    assert origin_of(Finding("sync", Level.STOP, "1/500 s is shorter than the 1/200 s sync time.")) == ""
    assert not set(LIMITS) & set(OWN_ORIGINS)


@pytest.mark.parametrize(
    ("drift", "label", "amount"),
    [
        ({"scale": 0.9949}, "size", "0.5 %"),
        ({"scale": 1.0138}, "size", "1.4 %"),
        ({"rotation_deg": -1.34}, "turned", "1.3°"),
        ({"rotation_deg": 0.96}, "turned", "1.0°"),
    ],
)
def test_the_bar_of_a_drift_and_its_sentence_say_the_same_number(
    drift: dict[str, float], label: str, amount: str
) -> None:
    turned, scale = drift.get("rotation_deg", 0.0), drift.get("scale", 1.0)
    (finding,) = findings(Drift(0.2, 0.1, turned, scale, WhatMoved.UNKNOWN, 0.1, 40, 0.2, 0.0001), REVISION)
    (line,) = (row for row in _against_limit(finding, 100) if "█" in row.plain)
    assert line.plain.startswith(f"{label} ") and line.plain.endswith(f" {amount}"), line.plain
    assert amount in finding.text
