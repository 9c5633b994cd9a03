"""The kit in the planner's questions: a light by its name, and what one measured frame corrects, kept or refused."""

from __future__ import annotations

from importlib import resources

import pytest

from tests.support.plan_answers import answer, run


def test_a_light_of_the_kit_is_calibrated_by_one_frame_for_itself_or_for_its_shaper(tmp_path):
    """GN·2^(e/2) of the flash alone; the loss of what stands before it is less by e. Closed forms."""
    kit = tmp_path / "kit.toml"
    kit.write_text(resources.files("session").joinpath("demo_kit.toml").read_text())
    asked = ("light", "--light", "key", "--kit", str(kit), "--distance-mm", "620")
    before = answer(*asked)
    assert before["f_number"] == pytest.approx(36 / 0.62 * 2 ** (-1.5 / 2))  # guide number 36 m, the tube takes 1.5 EV
    assert "tube takes 1.10 EV from key" in run(*asked, "--measured-change-ev", "0.4", "--keep")
    assert answer(*asked)["f_number"] == pytest.approx(before["f_number"] * 2**0.2)
    bare = (*asked, "--shaper", "")
    assert "guide number of key is 25.5 m" in run(*bare, "--measured-change-ev", "-1", "--keep")
    assert answer(*bare)["guide_number_m"] == 25.5


def test_what_can_not_be_kept_is_refused_and_the_kit_stays(tmp_path, monkeypatch):
    monkeypatch.delenv("STILLSET_KIT", raising=False)
    frame = ("--measured-change-ev", "0.4", "--keep")
    assert "demo's kit" in run("light", "--light", "key", *frame, exit_code=2)
    assert "key, rim, fill" in run("light", "--light", "moon", exit_code=2)
    assert "tube, small softbox" in run("light", "--light", "key", "--shaper", "moon", exit_code=2)
    assert "--light" in run("light", *frame, exit_code=2)
    assert "--measured-change-ev" in run("light", "--light", "key", "--keep", exit_code=2)
