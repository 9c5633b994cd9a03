"""The judge's process: a reference is opened once as long as its file stays, and a fault of ours gets an answer."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from session.checks.judge import judge_process
from session.checks.judge.judge_process import OpenedFrame, Previews, RememberedReference, answer
from session.checks.material.checked_picture import Material
from session.frame.finding import FocusVerdict
from session.frame.ports import Assignment
from session.picture.preview import UnreadablePicture, open_picture
from session.set.setup import Revision
from tests.support.made_pictures import coded, photograph


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """What was opened, instead of being opened; a file that holds "bad" can't be."""
    calls: list[tuple[Any, ...]] = []

    def gather(path: str, pixels_across: int | None, blur_limit_px: float | None) -> object:
        calls.append((path, pixels_across, blur_limit_px))
        if Path(path).exists() and Path(path).read_text() == "bad":
            raise UnreadablePicture("is no picture")
        return object()

    monkeypatch.setattr(judge_process, "gather", gather)
    return calls


def test_a_reference_is_opened_once_for_frames_that_follow(tmp_path: Path, opened: list[tuple[Any, ...]]) -> None:
    path = tmp_path / "reference.jpg"
    path.write_text("one")
    remembered = RememberedReference()
    first = remembered(str(path), 6000, 2.0)
    assert remembered(str(path), 6000, 2.0) is first and len(opened) == 1


@pytest.mark.parametrize("changed", ["another size", "another time", "another sensor", "another limit", "another path"])
def test_whatever_changes_about_a_reference_it_is_opened_anew(
    tmp_path: Path, opened: list[tuple[Any, ...]], changed: str
) -> None:
    path, pixels, limit_px = tmp_path / "reference.jpg", 6000, 2.0
    path.write_text("one")
    remembered = RememberedReference()
    first = remembered(str(path), pixels, limit_px)
    match changed:
        case "another size":
            path.write_text("longer")
        case "another time":
            os.utime(path, ns=(1, 1))
        case "another sensor":
            pixels = 8000
        case "another limit":
            limit_px = 1.0
        case "another path":
            path = path.rename(tmp_path / "moved.jpg")
    assert remembered(str(path), pixels, limit_px) is not first and len(opened) == 2


def test_a_reference_that_could_not_be_opened_is_tried_again(tmp_path: Path, opened: list[tuple[Any, ...]]) -> None:
    path = tmp_path / "reference.jpg"
    path.write_text("bad")
    remembered = RememberedReference()
    for _ in range(2):
        with pytest.raises(UnreadablePicture):
            remembered(str(path))
    path.write_text("good now")
    assert remembered(str(path)) is not None and len(opened) == 3


def test_a_fault_of_our_own_is_a_frame_that_is_not_judged(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def wrong(assignment: Assignment, reference: object, frame: object) -> None:
        raise ZeroDivisionError("a mistake of ours")

    monkeypatch.setattr(judge_process, "judge", wrong)
    told = answer(Assignment("f-1", "/1.jpg", "jpeg", Revision(), {}, True), RememberedReference(), OpenedFrame())
    assert (told.frame_id, told.focus.verdict) == ("f-1", FocusVerdict.UNJUDGED)
    assert told.focus.reason == "the checks failed (ZeroDivisionError)"
    assert "a mistake of ours" in capsys.readouterr().err, "whoever looks for it finds it"


def test_a_trouble_with_previews_is_told_once_and_taken_back_when_it_is_over(
    tmp_path: Path, material: Callable[..., Material]
) -> None:
    frame = material(coded(photograph("coffee.png", (720, 480))))
    folder = tmp_path / "log.previews"
    folder.write_text("no folder")
    previews = Previews(folder)
    said = f"No previews are stored in {folder}: it is not a folder. Frames are saved as ever."
    assert [previews.keep("f-1", frame), previews.keep("f-2", frame)] == [said, None]
    folder.unlink()
    assert [previews.keep("f-3", frame), previews.keep("f-4", frame)] == ["", None]
    assert sorted(path.name for path in folder.iterdir()) == ["f-3.jpg", "f-4.jpg"]
    later = Previews(folder)
    assert [later.keep("f-5", frame), later.keep("f-6", frame)] == ["", None], (
        "an earlier process may have told trouble"
    )
    source = open_picture(folder / "f-3.jpg")
    assert (source.full_width_px, source.full_height_px, source.stored_size) == (720, 480, (720, 480))


@pytest.mark.parametrize("error", [ValueError("a refused picture"), OSError("a refused picture")])
def test_a_preview_that_the_encoder_refuses_is_told_and_the_judge_goes_on(
    tmp_path: Path, material: Callable[..., Material], monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def refuse(*_: object) -> bool:
        raise error

    monkeypatch.setattr(judge_process, "keep_preview", refuse)
    told = Previews(tmp_path / "p").keep("f-1", material(coded(photograph("coffee.png", (720, 480)))))
    assert told == f"No previews are stored in {tmp_path / 'p'}: a refused picture. Frames are saved as ever."
