"""`stillset series check`: a series of files, and of frames in the log, whole and with a frame missing."""

import errno
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from PIL import Image

from session.set.kit import demo_kit
from session.set.setup import PassiveItem
from tests.support.focus_series import FOCAL_LENGTH_MM, LIMIT_PX
from tests.support.log_of_files import fill
from tests.support.scripted_table import READING, REVISION
from tests.support.series_truth import ShotSeries, label_series
from tests.support.written_log import written_log
from tui.commands.command_line import stillset


@pytest.fixture(scope="module")
def shot() -> ShotSeries:
    return label_series()


def check(*arguments: object) -> Result:
    return CliRunner().invoke(stillset, ["series", "check", *(str(argument) for argument in arguments)])


def lens_of(shot: ShotSeries) -> list[object]:
    table = shot.table
    return [
        *("--focal-length-mm", FOCAL_LENGTH_MM, "--f-number", table.f_number, "--magnification", table.magnification),
        *("--pixel-pitch-um", 1000 * table.pitch_mm, "--blur-limit-px", LIMIT_PX, "--ring"),
    ]


def test_a_whole_series_is_covered_and_gets_a_preview(shot, tmp_path):
    preview = tmp_path / "preview.jpg"
    done = check(*shot.paths, *lens_of(shot), "--preview", preview)
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("4 frames, by the picture 0.5")
    assert "Covered: 9" in done.stdout or "Covered: 100 %" in done.stdout
    assert "to look at, not to deliver" in done.stdout
    assert Image.open(preview).width == 768
    again = check(*shot.paths, *lens_of(shot), "--preview", preview)
    assert again.exit_code == 2
    assert "nothing is written over" in again.stderr


def test_a_missing_frame_is_told_with_what_to_do(shot):
    left = [shot.paths[0], shot.paths[1], shot.paths[3]]
    done = check(*left, *lens_of(shot), "--step-mm", shot.plan.step_mm)
    # by the plan the last is a step away, by the picture two: the picture is believed
    assert done.exit_code == 1
    assert "1 frame more between 1.jpg and 3.jpg." in done.stdout
    told = json.loads(check(*left, *lens_of(shot), "--json").stdout)
    assert told["gaps"][0]["after"] == 1
    assert told["preview"] is None
    assert told["frames"] == ["0.jpg", "1.jpg", "3.jpg"]


def test_frames_of_the_log_are_named_by_their_numbers(shot, tmp_path: Path):
    log = tmp_path / "shoot.db"
    for kept, path in zip(shot.paths, fill(log, tmp_path / "pictures", 4, 1), strict=True):
        path.write_bytes(kept.read_bytes())
    told = json.loads(check("1-4", "--log", log, *lens_of(shot), "--json").stdout)
    assert told["frames"] == ["1", "2", "3", "4"]
    assert told["gaps"] == []
    done = check("3-9", "--log", log, *lens_of(shot))
    assert done.exit_code == 2
    assert "frame 5: job 'Movement' has no such frame" in done.stderr
    assert "more than 1000 frames" in check("1-99999", "--log", log).stderr


def test_the_planes_are_told_before_anything_fires(shot):
    lens = lens_of(shot)[:-1]  # without --ring
    needed_mm = float(shot.table.shown_mm.max() - shot.table.shown_mm.min())
    asked = ["series", "plan", *(str(part) for part in lens), "--depth-needed-mm", str(needed_mm)]
    told = json.loads(CliRunner().invoke(stillset, [*asked, "--json"]).stdout)
    assert told["frames"] == 4
    assert told["planes_mm"] == pytest.approx(
        [plane - float(shot.table.shown_mm.min()) for plane in shot.plan.planes_mm], abs=1e-3
    )
    # a hold-off of 2 s first, three times as long again while the flash recycles
    assert told["least_time_s"] == pytest.approx(8.0, abs=0.1)
    assert CliRunner().invoke(stillset, asked).stdout.startswith("4 frames 0.53 mm apart, each sharp over 0.7 mm.")
    count = CliRunner().invoke(stillset, [*asked[:-2], "--frames", "7", "--json"])
    assert json.loads(count.stdout)["frames"] == 7
    assert "say what must be sharp" in CliRunner().invoke(stillset, asked[:-2]).stderr


def test_the_glass_before_the_lens_counts_whoever_tells_the_pixel_pitch(tmp_path):
    revision = replace(REVISION, passive=(PassiveItem("plate", "2 mm glass"),), body="Wendle 16")
    body = demo_kit().body_for("Wendle 16")
    assert body is not None
    pitch_um = 1000 * body.sensor_width_mm / body.pixels_across
    depths_mm = []
    for name, passive in (("glass", revision.passive), ("bare", ())):
        log = tmp_path / f"{name}.db"
        written_log(log, replace(revision, passive=passive), READING, ()).close()
        asked = ["series", "plan", "--log", log, "--setup", revision.label, "--frames", 1, "--json"]
        for more in ((), ("--pixel-pitch-um", pitch_um)):
            done = CliRunner().invoke(stillset, [str(part) for part in (*asked, *more)])
            assert done.exit_code == 0, done.output
            depths_mm.append(json.loads(done.stdout)["depth_mm"])
    assert depths_mm[0] == pytest.approx(depths_mm[1])
    assert depths_mm[2] == pytest.approx(depths_mm[3])
    assert depths_mm[1] < depths_mm[3] - 0.1


def test_a_full_disk_leaves_no_half_preview_under_the_name(shot, tmp_path, monkeypatch):
    def full(self: Image.Image, where: Any, *how: Any, **named: Any) -> None:
        half = b"\xff\xd8 half a picture"
        if isinstance(where, Path):
            where.write_bytes(half)
        else:
            where.write(half)
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Image.Image, "save", full)
    done = check(*shot.paths[:2], *lens_of(shot), "--preview", tmp_path / "preview.jpg")
    assert done.exit_code == 2
    assert "preview.jpg can't be written: No space left on device" in " ".join(done.stderr.split())
    assert list(tmp_path.iterdir()) == []


def test_far_first_names_the_frames_as_they_were_taken(shot):
    done = check(*shot.paths[2::-1], *lens_of(shot), "--far-first")
    assert "more behind 2.jpg" in done.stdout


def test_files_alone_dont_tell_the_lens(shot):
    done = check(*shot.paths, "--f-number", 4)
    assert done.exit_code == 2
    assert "--focal-length-mm, --magnification, --pixel-pitch-um too" in done.stderr


def test_what_is_no_picture_is_named(shot, tmp_path: Path):
    (tmp_path / "no.jpg").write_bytes(b"")
    done = check(shot.paths[0], tmp_path / "no.jpg", *lens_of(shot))
    assert done.exit_code == 2
    assert "no.jpg is empty" in done.stderr


def test_one_frame_is_no_series(shot):
    done = check(shot.paths[0], *lens_of(shot))
    assert done.exit_code == 2
    assert "1 frame makes no series" in done.stderr


def test_what_a_step_of_the_drive_is_worth(shot, tmp_path):
    planes = shot.plan.planes_mm
    more = tmp_path / "more.jpg"
    shot.table.expose(more, planes[3] + shot.plan.step_mm)
    lens = [one for one in lens_of(shot) if one != "--ring"]
    arguments = ["series", "drive", *shot.paths, more, *lens, "--steps", 50]
    done = CliRunner().invoke(stillset, [*(str(one) for one in arguments), "--json"])
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout)["step_mm"] == pytest.approx(shot.plan.step_mm / 50, rel=0.1)
    assert "A step of the drive moves the focus by" in CliRunner().invoke(stillset, [str(a) for a in arguments]).stdout
    few = CliRunner().invoke(stillset, [str(a) for a in ["series", "drive", *shot.paths, *lens, "--steps", 50]])
    assert "five places at least" in few.output


KIT = """
[[lens]] # mine
name = "Macro"
focal_length_mm = 100.0
widest_f_number = 2.8
smallest_f_number = 22.0
pupil_magnification = 1.1 # by eye
"""


def test_a_depth_that_differs_corrects_the_lens_when_asked(shot, tmp_path: Path):
    def depth(*arguments: object) -> Result:
        return CliRunner().invoke(stillset, ["series", "depth", *(str(argument) for argument in arguments)])

    one_more = tmp_path / "4.jpg"
    shot.table.expose(one_more, shot.plan.planes_mm[-1] + shot.plan.step_mm)
    frames, step = [*shot.paths, one_more], ("--step-mm", shot.plan.step_mm)
    # as if the aperture were half a stop wider than the set-up says: blur grows so much faster
    kit = tmp_path / "kit.toml"
    kit.write_text(KIT)
    stopped = [*lens_of(shot), *step, "--f-number", 1.3 * shot.table.f_number, "--kit", kit, "--correct", "Macro"]
    refused = depth(*frames, *stopped)
    assert refused.exit_code == 1
    assert "Nothing was corrected; --yes changes pupil magnification 1.10 of Macro to" in refused.stderr
    assert kit.read_text() == KIT
    done = depth(*frames, *stopped, "--yes")
    assert "The two differ" in done.stdout
    assert "# by eye; was 1.1" in kit.read_text()


def test_a_lens_that_the_frames_were_not_shot_with_is_not_corrected(shot, tmp_path: Path):
    log, kit, one_more = tmp_path / "shoot.db", tmp_path / "kit.toml", tmp_path / "5.jpg"
    shot.table.expose(one_more, shot.plan.planes_mm[-1] + shot.plan.step_mm)
    for kept, path in zip((*shot.paths, one_more), fill(log, tmp_path / "pictures", 5, 1), strict=True):
        path.write_bytes(kept.read_bytes())
    kit.write_text(KIT)
    lens = [*lens_of(shot), "--step-mm", shot.plan.step_mm, "--f-number", 1.3 * shot.table.f_number, "--kit", kit]
    asked = ["series", "depth", "1-5", "--log", log, *lens, "--correct", "Macro", "--yes"]
    told = CliRunner().invoke(stillset, [str(argument) for argument in asked])
    assert told.exit_code == 2
    assert "These frames were shot with invented 105 mm, not with Macro." in told.stderr
    assert kit.read_text() == KIT
