"""The region's blur where light and dark lie side by side: a known disc against what is measured."""

from __future__ import annotations

from pathlib import Path

import pytest

from session.checks.focus.region import RegionBlur, measure
from session.checks.material.checked_picture import gather, pair
from session.set.setup import Region
from tests.support.made_pictures import blurred, coded, jpeg_bytes, photograph

SIZE = (900, 600)
RIM = Region(0.35, 0.35, 0.3, 0.3)
"""A black drink with a white rim: the darkest and the brightest of the picture, a few pixels apart."""


@pytest.mark.parametrize("radius_px", [2.0, 3.0, 4.0, 6.0])
def test_blur_beside_a_bright_rim_is_measured_as_elsewhere(tmp_path: Path, radius_px: float) -> None:
    """Asked for are 0.4 px or 15 %."""
    light = photograph("coffee.png", SIZE) * 0.6
    for seed, (name, picture) in enumerate((("sharp", light), ("soft", blurred(light, radius_px)))):
        (tmp_path / f"{name}.jpg").write_bytes(jpeg_bytes(coded(picture, seed=seed)))
    both = pair(gather(str(tmp_path / "soft.jpg")), gather(str(tmp_path / "sharp.jpg")))
    found = measure(both, RIM, 2.0)
    assert found.tells(2.0)
    assert found.blur_px == pytest.approx(radius_px, abs=max(0.4, 0.15 * radius_px))


def test_sharp_is_only_said_where_it_was_measured_as_well_as_the_limit_would_show() -> None:
    """At twice its standard deviation a limit of 2 px leaves √2 px of doubt about no blur at all."""
    assert RegionBlur(0.0, 1.4, 2.1, scale=0.25).tells(2.0)
    assert not RegionBlur(0.0, 2.0, 2.1, scale=0.25).tells(2.0)
    assert RegionBlur(3.0, 2.0, 2.1, scale=0.25).tells(2.0)


@pytest.mark.parametrize(
    ("blur_px", "sd_px", "detectability", "tells"),
    [
        (0.0, 0.1, 1.99, False),  # where the limit doesn't show in two standard deviations nothing is called sharp,
        (0.0, 0.1, 2.01, True),
        (2.1, 0.1, 1.99, False),  # nor soft, unless the blur lies two of its own beyond the limit
        (2.19, 0.1, 1.01, False),
        (2.21, 0.1, 1.01, True),
        (2.21, 0.1, 0.99, False),  # and the limit shows in one
        (0.0, 1.41, 2.01, True),  # sharp: known to the limit over the root of two, 1.414 px
        (0.0, 1.42, 2.01, False),
        (1.99, 1.42, 2.01, False),
        (2.01, 1.42, 2.01, True),  # what is beyond the limit needs no such promise
    ],
)
def test_on_either_side_of_what_is_told(blur_px: float, sd_px: float, detectability: float, tells: bool) -> None:
    assert RegionBlur(blur_px, sd_px, detectability, scale=1.0).tells(2.0) is tells
