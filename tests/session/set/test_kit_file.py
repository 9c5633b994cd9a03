"""Writing to the photographer's kit file: only the two figures change, whatever else stands there, or nothing does."""

from __future__ import annotations

import difflib
from datetime import date
from importlib import resources
from pathlib import Path

import pytest

from session.optics.ring_down import RingDown
from session.set.kit import KitError, LensDrive, read_kit
from session.set.kit_file import keep_drive, keep_guide_number, keep_pupil, keep_shaper_loss, keep_support

FOUND = RingDown(6.1234, 0.01, 0.03149, 0.0005, 8.0)
DEMO = resources.files("session").joinpath("demo_kit.toml").read_text(encoding="utf-8")


def written(tmp_path: Path, text: str, name: str = "") -> tuple[list[str], Path]:
    """Lines taken out and put in."""
    path = tmp_path / "kit.toml"
    path.write_bytes(text.encode())
    keep_support(path, name, FOUND)
    after = path.read_bytes().decode()
    return [line for line in difflib.ndiff(text.splitlines(True), after.splitlines(True)) if line[0] in "+-"], path


def test_only_the_two_figures_of_the_demos_kit_change(tmp_path: Path) -> None:
    changed, path = written(tmp_path, DEMO, "column")
    assert [line.strip() for line in changed] == [
        "- frequency_hz = 22.0", "+ frequency_hz = 6.12", "- damping_ratio = 0.05", "+ damping_ratio = 0.0315",
    ]  # fmt: skip
    assert read_kit(path).support_for("column").frequency_hz == 6.12


def test_comment_behind_a_figure_and_line_ends_of_another_system_stay(tmp_path: Path) -> None:
    text = '# mine\r\n[[support]]\r\nname = "column"\r\nfrequency_hz = 9.0 # last year\r\ndamping_ratio = 0.02\r\n'
    changed, path = written(tmp_path, text)
    assert "+ frequency_hz = 6.12 # last year\r\n" in changed
    assert path.read_bytes().count(b"\r\n") == 5


@pytest.mark.parametrize(
    ("text", "name"), [("# nothing yet\n", "support"), ('[[trigger]]\nname = "radio"\n', "support")]
)
def test_kit_without_a_stand_gets_one(tmp_path: Path, text: str, name: str) -> None:
    changed, path = written(tmp_path, text)
    assert not any(line.startswith("-") for line in changed)
    assert [support.name for support in read_kit(path).support] == [name]


def test_unknown_name_means_the_first_stand_as_everywhere(tmp_path: Path) -> None:
    _, path = written(tmp_path, '[[support]]\nname = "column"\n', "no such support")
    assert [(support.name, support.frequency_hz) for support in read_kit(path).support] == [("column", 6.12)]


@pytest.mark.parametrize(
    "text", ['support = [{ name = "column" }]\n', '[[support]]\nname = "column"\nfrequncy_hz = 3.0\n', "[[support\n"]
)
def test_file_that_cant_be_used_stays_as_it_was(tmp_path: Path, text: str) -> None:
    path = tmp_path / "kit.toml"
    path.write_text(text)
    with pytest.raises(KitError):
        keep_support(path, "column", FOUND)
    assert path.read_text() == text
    assert [entry.name for entry in tmp_path.iterdir()] == ["kit.toml"]


def test_link_and_permissions_stay(tmp_path: Path) -> None:
    real = tmp_path / "kept" / "kit.toml"
    real.parent.mkdir()
    real.write_text('[[support]]\nname = "column"\n')
    real.chmod(0o640)
    link = tmp_path / "kit.toml"
    link.symlink_to(real)
    keep_support(link, "", FOUND)
    assert link.is_symlink()
    assert real.stat().st_mode & 0o777 == 0o640
    assert "6.12" in real.read_text()


def test_what_a_measured_frame_corrects_goes_to_the_light_and_its_shaper(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    path.write_bytes(DEMO.encode())
    keep_guide_number(path, "rim", 30.267)
    kit = keep_shaper_loss(path, "rim", "tube", 1.234)
    rim = kit.light_for("rim")
    assert rim is not None
    assert rim.guide_number_m == 30.3
    assert kit.loss_ev(rim, "tube") == 1.23
    assert [kit.loss_ev(light, "tube") for light in kit.light if light.name != "rim"] == [1.5, 1.5]
    changed = [line for line in difflib.ndiff(DEMO.splitlines(), path.read_text().splitlines()) if line[0] in "+-"]
    assert len(changed) == 3, changed  # one number out, one in, one line more


def test_loss_that_no_kit_can_hold_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    path.write_bytes(DEMO.encode())
    with pytest.raises(KitError):
        keep_shaper_loss(path, "key", "tube", 99.0)
    with pytest.raises(KitError):
        keep_shaper_loss(path, "key", "a shaper that isn't there", 1.0)
    assert path.read_bytes() == DEMO.encode()


def test_swing_goes_into_the_table_that_an_older_file_calls_a_stand(tmp_path: Path) -> None:
    _, path = written(tmp_path, '[[stand]]\nname = "column"\n', "column")
    assert "[[stand]]" in path.read_text() and "[[support]]" not in path.read_text()
    assert [(support.name, support.frequency_hz) for support in read_kit(path).support] == [("column", 6.12)]


def test_a_drive_measured_again_takes_the_place_of_the_one_of_its_name(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    path.write_text("# mine\n")
    numbers = {"name": "close at 1:1", "lens": "close", "magnification": 1.0, "measured_on": date(2031, 5, 6)}
    for steps in (101.234, 98.765):
        keep_drive(path, LensDrive.model_validate(numbers | {"steps_per_mm": steps, "play_steps": 31.0}))
    (kept,) = read_kit(path).drive
    assert (kept.steps_per_mm, kept.play_steps, kept.measured_on) == (98.8, 31.0, date(2031, 5, 6))
    keep_drive(path, LensDrive.model_validate(numbers | {"steps_per_mm": 98.765, "play_steps": 0.0}))
    assert read_kit(path).drive[0].play_steps == 0
    keep_drive(path, LensDrive.model_validate(numbers | {"steps_per_mm": 98.765}))
    assert read_kit(path).drive[0].play_steps is None
    assert "converter" not in path.read_text() and path.read_text().startswith("# mine\n")


def test_a_corrected_pupil_keeps_the_old_value_beside_it_and_corrects_what_goes_before_it(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    text = (
        '[[lens]]\nname = "Macro"\nfocal_length_mm = 100.0\nwidest_f_number = 2.8\nsmallest_f_number = 22.0\n'
        "closest_magnification = 1.0\npupil_magnification = 1.0 # by eye\nclosest_effective_f_number = 5.6\n"
    )
    path.write_text(text)
    found = keep_pupil(path, read_kit(path).lens[0], 0.8).lens[0]
    # 2.8 (1 + 1/0.8)
    assert (found.pupil_magnification, found.closest_effective_f_number) == (0.8, 6.3)
    assert "pupil_magnification = 0.8 # by eye; was 1" in path.read_text()
    assert "closest_effective_f_number = 6.3 # was 5.6" in path.read_text()
