"""What the judge's process keeps of a reference is a saving of time and nothing else."""

from __future__ import annotations

from pathlib import Path

from session.checks.judge.all_checks import judge
from session.checks.judge.judge_process import RememberedReference
from session.frame.ports import Assignment
from session.set.setup import Arrangement, Region, Revision
from tests.support.made_pictures import blurred, coded, jpeg_bytes, moved, photograph

SIZE = (600, 400)


def test_what_is_remembered_of_the_reference_changes_no_judgement(tmp_path: Path) -> None:
    """Frames that lie and are focused differently, judged in turn, and against the file opened anew."""
    light = photograph("coffee.png", SIZE) * 0.6
    pictures = {
        "reference": light,
        "moved": moved(light, 7.3, -4.6, 0.5),
        "blurred": blurred(light, 3.2),
    }
    for seed, (name, picture) in enumerate(pictures.items()):
        (tmp_path / f"{name}.jpg").write_bytes(jpeg_bytes(coded(picture, seed=seed)))
    remembered = RememberedReference()
    revision = Revision(
        region=Region(0.35, 0.35, 0.3, 0.3), arrangement=Arrangement(magnification=0.5), blur_limit_px=2.0
    )
    verdicts = []
    for name in ("moved", "blurred", "moved"):
        paths = str(tmp_path / f"{name}.jpg"), str(tmp_path / "reference.jpg")
        assignment = Assignment(
            "f",
            paths[0],
            "jpeg",
            revision,
            {},
            True,
            reference_path=paths[1],
            sensor_width_mm=36.0,
            pixels_across=SIZE[0],
        )
        found = judge(assignment, remembered)
        assert found == judge(assignment)
        verdicts.append(found.focus.verdict.value)
    assert verdicts == ["sharp", "soft", "sharp"]
