"""All checks on frames of the mock camera, whose truth is known, and on files that are no frames.

The mock camera forms its pictures by optics and a shutter of its own; the judge sees only the files.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageOps

from mock_camera.body.encode import encode_jpeg, encode_raw
from mock_camera.table.world import Shot, World
from session.checks.judge.all_checks import judge
from session.checks.judge.examined import Examined
from session.checks.material.checked_picture import gather, pair
from session.frame.finding import CheckId, Finding, FocusVerdict, Level
from session.frame.ports import Assignment, Judgement
from session.picture.stored_preview import keep_preview
from session.set.setup import Arrangement, PlacedLight, Region, Revision, Settings
from tests.support.made_pictures import coded, jpeg_bytes, moved, photograph, relit

SIZE = (1536, 1024)


@dataclass
class Set:
    """A mock set-up with its first frame saved, and what later frames do to it."""

    folder: Path
    world: World
    region: Region
    shots: int = 0

    def frame(self, *, exposure_s: float = 1 / 200, raw: bool = False) -> tuple[Path, dict[str, object]]:
        """Release once; the file and what was truly there."""
        self.shots += 1
        shot = Shot(exposure_s, 11.0, 100, datetime(2026, 11, 2, 9, tzinfo=UTC), self.shots)
        picture = self.world.expose(shot, 100.0 * self.shots)
        path = self.folder / f"frame-{self.shots}.{'raw' if raw else 'jpg'}"
        path.write_bytes((encode_raw if raw else encode_jpeg)(picture, shot))
        return path, picture.truth

    def assignment(self, path: Path, reference: Path | None, **changes: object) -> Assignment:
        made = Assignment(
            frame_id="f",
            path=str(path),
            kind="raw" if path.suffix == ".raw" else "jpeg",
            revision=Revision(region=self.region, arrangement=Arrangement(magnification=1.0), blur_limit_px=2.0),
            asked=Settings().by_name(),
            flash_used=True,
            reference_path=str(reference) if reference else None,
            sensor_width_mm=24.0,
            pixels_across=SIZE[0],
        )
        return replace(made, **changes)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def bridge(tmp_path_factory: pytest.TempPathFactory) -> Set:
    world = World(seed=61, pixels=SIZE)
    told: Any = world.state()["region"]
    x, y, w, h = told
    region = Region(x / SIZE[0], y / SIZE[1], w / SIZE[0], h / SIZE[1])
    return Set(tmp_path_factory.mktemp("bridge"), world, region)


@pytest.fixture(scope="module")
def reference(bridge: Set) -> Path:
    return bridge.frame()[0]


def named(judgement: Judgement, name: str) -> Finding | None:
    return next((finding for finding in judgement.findings if finding.id == name), None)


def test_frame_like_its_reference_is_sharp_and_without_findings(bridge: Set, reference: Path) -> None:
    found = judge(bridge.assignment(bridge.frame()[0], reference))
    assert found.findings == ()
    assert found.focus.verdict is FocusVerdict.SHARP


def test_raw_frame_is_judged_by_its_preview(bridge: Set, reference: Path) -> None:
    found = judge(bridge.assignment(bridge.frame(raw=True)[0], reference))
    assert found.findings == ()
    assert found.focus.verdict is FocusVerdict.SHARP


@pytest.mark.parametrize("defocus_mm", [8.3, -8.3])
def test_focus_off_by_three_depths_is_missed_with_its_distance(bridge: Set, reference: Path, defocus_mm: float) -> None:
    """Depth of field at the limit of 2 px radius: 2·(2·2 px·15.6 µm)·22/1² = 2.75 mm (close-up form)."""
    bridge.world.do("turn_focus", to_mm=defocus_mm)
    path, truth = bridge.frame()
    bridge.world.do("turn_focus", to_mm=0.0)
    found = judge(bridge.assignment(path, reference))
    assert found.focus.verdict is FocusVerdict.MISSED
    assert found.focus.blur_px == pytest.approx(truth["blur_px"], rel=0.15)
    assert found.focus.defocus_mm == pytest.approx(8.3, rel=0.15)
    focus = named(found, "focus")
    assert focus is not None
    assert focus.text.startswith("Blur radius 1")


@pytest.mark.parametrize("defocus_mm", [0.65, -0.65])
def test_focus_off_by_less_than_a_quarter_of_the_depth_is_not_flagged(
    bridge: Set, reference: Path, defocus_mm: float
) -> None:
    bridge.world.do("turn_focus", to_mm=defocus_mm)
    path, _ = bridge.frame()
    bridge.world.do("turn_focus", to_mm=0.0)
    found = judge(bridge.assignment(path, reference))
    assert (found.focus.verdict, found.findings) == (FocusVerdict.SHARP, ())


def test_moved_light_is_a_matter_of_light_and_no_focus_finding(bridge: Set, reference: Path) -> None:
    bridge.world.do("light", name="key", azimuth_deg=-45.0)
    path, _ = bridge.frame()
    bridge.world.do("light", name="key", azimuth_deg=45.0)
    found = judge(bridge.assignment(path, reference))
    assert found.focus.verdict is FocusVerdict.SHARP
    # from the other side the light makes its highlights elsewhere
    assert {finding.id for finding in found.findings} <= {"exposure", "evenness"}


def test_flash_that_didnt_fire_is_told_and_focus_is_left_unjudged(bridge: Set, reference: Path) -> None:
    bridge.world.do("light", name="key", fires=False)
    path, truth = bridge.frame()
    bridge.world.do("light", name="key", fires=True)
    found = judge(bridge.assignment(path, reference))
    flash = named(found, "flash")
    assert flash is not None
    assert flash.text.startswith("No flash: ")
    assert flash.value == pytest.approx(truth["ambient_ev"] or -6.0, abs=0.5)
    assert named(found, "exposure") is None
    assert found.focus.verdict is FocusVerdict.UNJUDGED


@pytest.mark.parametrize("with_reference", [True, False])
def test_too_short_exposure_shows_the_band_with_its_share(bridge: Set, reference: Path, with_reference: bool) -> None:
    path, truth = bridge.frame(exposure_s=1 / 500)
    found = judge(bridge.assignment(path, reference if with_reference else None))
    band, settings = named(found, "band"), named(found, "settings")
    assert band is not None
    assert band.value == pytest.approx(truth["dark_share"], abs=0.01)
    assert "along the bottom" in band.text
    assert named(found, "drift") is None, "a band is no motion of camera or piece"
    assert settings is not None
    assert "1/500 s, asked was 1/200 s" in settings.text


@pytest.mark.parametrize(
    ("why", "told"),
    [
        ("", "no reference was given to compare it with"),
        ("set-up 07 has no reference yet; look at it enlarged", "set-up 07 has no reference yet; look at it enlarged"),
    ],
)
def test_frame_without_a_reference_is_unjudged_and_says_why(bridge: Set, reference: Path, why: str, told: str) -> None:
    found = judge(bridge.assignment(reference, None, why_alone=why))
    assert found.focus.verdict is FocusVerdict.UNJUDGED
    assert [finding.text for finding in found.findings] == [f"Focus not judged: {told}."]


def test_shorter_file_than_announced_is_told(bridge: Set, reference: Path) -> None:
    found = judge(bridge.assignment(reference, None, expected_bytes=reference.stat().st_size + 7))
    file = named(found, "file")
    assert file is not None
    assert file.limit == file.value + 7


@pytest.mark.parametrize("kept", [0.0, 0.001, 0.3, 0.97])
def test_cut_file_gives_a_finding_whatever_is_left_of_it(bridge: Set, reference: Path, kept: float) -> None:
    data = reference.read_bytes()
    cut = bridge.folder / "cut.jpg"
    cut.write_bytes(data[: int(kept * len(data))])
    found = judge(bridge.assignment(cut, reference))
    assert found.focus.verdict is FocusVerdict.UNJUDGED
    assert named(found, "file") is not None


def test_damaged_reference_leaves_the_rest_of_the_checks(bridge: Set, reference: Path) -> None:
    broken = bridge.folder / "broken.jpg"
    broken.write_bytes(reference.read_bytes()[:5000])
    found = judge(bridge.assignment(reference, broken))
    assert found.focus.verdict is FocusVerdict.UNJUDGED
    assert found.focus.reason.startswith("the reference ")
    assert named(found, "file") is None


@pytest.mark.parametrize(
    "make",
    [
        lambda: jpeg_bytes(np.zeros((1, 1, 3), np.uint8)),
        lambda: jpeg_bytes(np.zeros((40, 4000, 3), np.uint8)),
        lambda: jpeg_bytes(np.zeros((1024, 1536), np.uint8)),
        lambda: jpeg_bytes(np.full((1024, 1536), 255, np.uint8)),
        lambda: b"\xff\xd8 no picture",
        lambda: b"II*\0" + bytes(200),
    ],
)
def test_strange_picture_gives_an_answer(bridge: Set, reference: Path, make: Callable[[], bytes]) -> None:
    strange = bridge.folder / "strange.jpg"
    strange.write_bytes(make())
    for compared in (reference, None):
        found = judge(bridge.assignment(strange, compared))
        assert found.focus.verdict is FocusVerdict.UNJUDGED
    assert judge(bridge.assignment(reference, strange)).focus.verdict is FocusVerdict.UNJUDGED


def test_frame_without_findings_still_tells_what_was_measured(bridge: Set, reference: Path) -> None:
    found = judge(bridge.assignment(bridge.frame()[0], reference))
    assert isinstance(found, Examined)
    assert found.band is None
    assert found.exposure is not None
    assert found.exposure.region_ev == pytest.approx(0.0, abs=0.05)
    assert found.drift is not None
    assert (found.drift.right_px, found.drift.down_px) == (pytest.approx(0, abs=0.5), pytest.approx(0, abs=0.5))


def test_shift_is_told_in_pixels_of_the_file(bridge: Set, reference: Path) -> None:
    """Two cuts of one picture, 16 px across and 8 px down apart: where the content of the first lies in the second."""
    with Image.open(reference) as image:
        first, second = (np.asarray(image.crop((x, y, x + 1400, y + 900))) for x, y in ((64, 64), (48, 72)))
    paths = bridge.folder / "first.jpg", bridge.folder / "second.jpg"
    for path, codes in zip(paths, (first, second), strict=True):
        path.write_bytes(jpeg_bytes(codes))
    found = judge(bridge.assignment(paths[1], paths[0], pixels_across=None))
    assert isinstance(found, Examined)
    assert found.drift is not None
    assert (found.drift.right_px, found.drift.down_px) == (pytest.approx(16, abs=0.5), pytest.approx(-8, abs=0.5))


def test_region_in_pixels_stands_for_the_set_ups(bridge: Set, reference: Path) -> None:
    box = bridge.region.in_pixels(*SIZE)
    region_px = (box[0], box[1], box[2] - box[0], box[3] - box[1])
    elsewhere = Revision(
        region=Region(0.0, 0.0, 0.1, 0.1), arrangement=Arrangement(magnification=1.0), blur_limit_px=2.0
    )
    bridge.world.do("turn_focus", to_mm=8.3)
    path, _ = bridge.frame()
    bridge.world.do("turn_focus", to_mm=0.0)
    by_fractions = judge(bridge.assignment(path, reference))
    by_pixels = judge(bridge.assignment(path, reference, revision=elsewhere, region_px=region_px))
    assert by_pixels.focus.blur_px == pytest.approx(by_fractions.focus.blur_px, rel=0.02)


@pytest.mark.parametrize("region_px", [(1400, 900, 200, 100), (-1, 0, 10, 10), (0, 0, 0, 10), (9000, 0, 1, 1)])
def test_region_outside_the_picture_is_a_finding(
    bridge: Set, reference: Path, region_px: tuple[int, int, int, int]
) -> None:
    found = judge(bridge.assignment(reference, reference, region_px=region_px))
    assert [(finding.id, finding.level) for finding in found.findings] == [("region", Level.CAUTION)]
    assert "picture of 1536 × 1024 pixels" in found.focus.reason


def test_portrait_frame_is_judged_like_a_level_one(bridge: Set) -> None:
    """The body turned by a quarter: Exif orientation 8, the region turned with it, the band at a side."""
    bridge.world.do("body", orientation=8)
    first, _ = bridge.frame()
    shaded, truth = bridge.frame(exposure_s=1 / 500)
    bridge.world.do("body", orientation=1)
    r = bridge.region
    turned = Region(r.top, 1 - r.left - r.width, r.height, r.width)
    revision = Revision(region=turned, arrangement=Arrangement(magnification=1.0), blur_limit_px=2.0)
    found = judge(bridge.assignment(shaded, first, revision=revision))
    band = named(found, "band")
    assert band is not None
    assert band.value == pytest.approx(truth["dark_share"], abs=0.01)
    assert "along the right" in band.text
    assert found.focus.verdict is FocusVerdict.SHARP


def test_set_relit_within_its_limits_gives_no_caution_and_moved_it_stays_sharp(bridge: Set, reference: Path) -> None:
    """The simulated piece takes its table along, so that all of the picture moves: 18 px, and a corner by 13."""
    acts: tuple[tuple[str, dict[str, float | str], dict[str, float | str], set[str]], ...] = (
        ("light", {"name": "key", "azimuth_deg": 50.0}, {"name": "key", "azimuth_deg": 45.0}, set()),
        ("shift_piece", {"right_mm": 0.02, "down_mm": -0.02}, {"right_mm": -0.02, "down_mm": 0.02}, set()),
        ("shift_piece", {"right_mm": 0.2, "down_mm": -0.2}, {"right_mm": -0.2, "down_mm": 0.2}, {"drift"}),
        ("shift_piece", {"turn_deg": 0.8}, {"turn_deg": -0.8}, {"drift"}),
    )
    for name, there, back, cautions in acts:
        bridge.world.do(name, **there)
        found = judge(bridge.assignment(bridge.frame()[0], reference))
        bridge.world.do(name, **back)
        assert {finding.id for finding in found.findings if finding.level is not Level.NOTE} == cautions
        assert found.focus.verdict is FocusVerdict.SHARP


def test_bumped_camera_is_told_in_px_and_mm(bridge: Set, reference: Path) -> None:
    """1 mm to the right on the table is 64 px to the left in a picture at 1:1 of 1536 px on 24 mm."""
    bridge.world.do("move_camera", right_mm=1.0, turn_deg=0.7)
    path, _ = bridge.frame()
    bridge.world.do("move_camera", right_mm=-1.0, turn_deg=-0.7)
    found = judge(bridge.assignment(path, reference))
    drift = named(found, "drift")
    assert isinstance(found, Examined)
    assert found.drift is not None
    assert found.drift.rotation_deg == pytest.approx(-0.7, abs=0.05)
    assert drift is not None
    assert drift.level is Level.CAUTION
    assert "(1.0 mm) left" in drift.text


def test_light_that_did_not_fire_is_named_by_its_place(bridge: Set) -> None:
    lights = (PlacedLight("key", -2.0, 600, 45, 45), PlacedLight("fill", -3.0, 600, -60, 40))
    bridge.world.do("light", name="fill", power_ev=-3.0, distance_mm=600.0, azimuth_deg=-60.0, elevation_deg=40.0)
    both_on, _ = bridge.frame()
    bridge.world.do("light", name="key", fires=False)
    path, _ = bridge.frame()
    bridge.world.do("light", name="key", fires=True)
    bridge.world.do("remove_light", name="fill")
    revision = Revision(
        region=bridge.region, arrangement=Arrangement(magnification=1.0), lights=lights, blur_limit_px=2.0
    )
    numbers = {"key": 32.0, "fill": 32.0}
    found = judge(bridge.assignment(path, both_on, revision=revision, guide_numbers_m=numbers))
    assert [finding.id for finding in found.findings if finding.id in ("flash", "light", "exposure")] == ["light"]
    assert found.findings[0].text.startswith("key seems not to have fired (45° left · 45° up)")


def test_picture_turned_upright_is_not_compared_with_a_wide_reference(bridge: Set, reference: Path) -> None:
    """Both files have the same pixels across and down; only the frame's orientation flag says that it is upright."""
    bridge.world.do("body", orientation=6)
    path, _ = bridge.frame()
    bridge.world.do("body", orientation=1)
    found = judge(bridge.assignment(path, reference))
    assert found.focus.verdict is FocusVerdict.UNJUDGED
    assert "turned against the reference" in found.focus.reason


def test_light_is_not_compared_place_by_place_with_a_reference_of_something_else(
    bridge: Set, reference: Path, tmp_path: Path
) -> None:
    mirrored = tmp_path / "mirrored.jpg"
    with Image.open(reference) as image:
        ImageOps.mirror(image).save(mirrored, quality=95)
    found = judge(bridge.assignment(mirrored, reference))
    assert isinstance(found, Examined)
    assert (found.evenness, found.colour) == (None, None)
    assert {finding.id for finding in found.findings}.isdisjoint({"evenness", "colour", "mixed light"})
    assert found.focus.verdict is FocusVerdict.UNJUDGED


def test_a_reference_whose_file_is_gone_is_compared_by_its_stored_preview(
    saved: Callable[..., Path], tmp_path: Path
) -> None:
    """Move and exposure come out as against the original, in full-size pixels; focus isn't told, and a note says so.

    The scene is moved by 30 px right and 18 px down and 0.4 EV darker.
    """
    scene = photograph("coffee.png", (1440, 960))
    reference = saved(coded(scene), "reference.jpg")
    frame = saved(coded(relit(moved(scene, 30, 18), ev=-0.4), seed=1), "frame.jpg")
    opened = gather(str(reference))
    keep_preview(tmp_path, "f-1", opened.overview.pixels, (1440, 960))
    work = Assignment("f", str(frame), "jpeg", Revision(region=Region(0.3, 0.3, 0.4, 0.4)), {}, True)
    by_original, by_preview = (
        judge(replace(work, reference_path=str(path))) for path in (reference, tmp_path / "f-1.jpg")
    )
    assert isinstance(by_original, Examined) and isinstance(by_preview, Examined)
    assert by_original.exposure and by_preview.exposure
    for one in (by_original, by_preview):
        assert one.drift and (one.drift.right_px, one.drift.down_px) == pytest.approx((30, 18), abs=1.5)
    assert by_preview.exposure.region_ev == pytest.approx(by_original.exposure.region_ev, abs=0.02)
    assert by_preview.focus.verdict is FocusVerdict.UNJUDGED
    (note,) = (found for found in by_preview.findings if found.id == CheckId.REFERENCE)
    assert note.level is Level.NOTE and "compared with its stored preview" in note.text
    assert not any(found.id == CheckId.REFERENCE for found in by_original.findings)


def test_a_preview_of_a_very_large_picture_is_compared_at_the_scale_at_which_it_was_stored(
    saved: Callable[..., Path], tmp_path: Path
) -> None:
    """An eighth of 11,648 px is more than twice the least size of an overview: the preview isn't halved again.

    The scene is moved by 120 px right and is 1 EV darker.
    """
    size = (11648, 1600)
    small = photograph("coffee.png", (1456, 971))[300:500]
    darker = relit(np.roll(small, 15, axis=1), ev=-1.0)
    reference, frame = (
        saved(coded(light, seed=seed).repeat(8, axis=0).repeat(8, axis=1), f"{seed}.jpg")
        for seed, light in enumerate((small, darker))
    )
    keep_preview(tmp_path, "f-1", gather(str(reference)).overview.pixels, size)
    revision = Revision(region=Region(0.3, 0.3, 0.4, 0.4))
    work = Assignment("f", str(frame), "jpeg", revision, {}, False, reference_path=str(tmp_path / "f-1.jpg"))
    found = judge(work)
    assert isinstance(found, Examined) and found.exposure
    assert found.exposure.region_ev == pytest.approx(-1.0, abs=0.05)
    both = pair(gather(str(frame)), gather(str(tmp_path / "f-1.jpg")))
    assert both.shift.right_px / both.frame.small_scale == pytest.approx(120, abs=3)
    (note,) = (one for one in found.findings if one.id == CheckId.REFERENCE)
    assert note.level is Level.NOTE


def test_a_preview_that_an_earlier_version_sent_is_compared_at_the_scale_of_the_frame(
    saved: Callable[..., Path], tmp_path: Path
) -> None:
    """Such a preview is 1600 px long and doesn't tell how large its original was."""
    scene = photograph("coffee.png", (1800, 1200))
    small = Image.fromarray(coded(scene)).resize((1600, 1067), Image.Resampling.BOX)
    keep_preview(tmp_path, "f-1", np.asarray(small), (1600, 1067))
    frame = saved(coded(relit(np.roll(scene, (36, 60), axis=(0, 1)), ev=-0.4), seed=1), "frame.jpg")
    revision = Revision(region=Region(0.3, 0.3, 0.4, 0.4))
    work = Assignment("f", str(frame), "jpeg", revision, {}, False, reference_path=str(tmp_path / "f-1.jpg"))
    found = judge(work)
    assert isinstance(found, Examined) and found.exposure and found.drift
    assert (found.drift.right_px, found.drift.down_px) == pytest.approx((60, 36), abs=3)
    assert found.exposure.region_ev == pytest.approx(-0.4, abs=0.05)


def test_a_preview_at_another_scale_is_compared_with_nothing_and_says_so(
    saved: Callable[..., Path], tmp_path: Path
) -> None:
    scene = photograph("coffee.png", (1440, 960))
    frame = saved(coded(scene), "frame.jpg")
    keep_preview(tmp_path, "f-1", gather(str(frame)).overview.pixels[:300, :450], (3600, 2400))
    work = Assignment("f", str(frame), "jpeg", Revision(), {}, True, reference_path=str(tmp_path / "f-1.jpg"))
    found = judge(work)
    assert isinstance(found, Examined) and found.drift is None
    (caution,) = (one for one in found.findings if one.id == CheckId.REFERENCE)
    assert caution.level is Level.CAUTION and "nothing was compared" in caution.text


def test_focus_is_not_judged_by_stored_previews_and_the_reason_is_true(
    saved: Callable[..., Path], tmp_path: Path
) -> None:
    """Of one or of both, whether or not the sizes agree."""
    scene = photograph("coffee.png", (1440, 960))
    file = saved(coded(scene), "frame.jpg")
    for name in ("f-1", "f-2"):
        keep_preview(tmp_path, name, gather(str(file)).overview.pixels, (1440, 960))
    one, other = tmp_path / "f-1.jpg", tmp_path / "f-2.jpg"
    for frame, reference, whose in ((file, one, "reference"), (other, one, "reference"), (one, file, "frame")):
        work = Assignment("f", str(frame), "jpeg", Revision(), {}, True, reference_path=str(reference))
        focus = judge(work).focus
        assert focus.verdict is FocusVerdict.UNJUDGED
        assert focus.reason == f"of the {whose} only the stored preview is there"
