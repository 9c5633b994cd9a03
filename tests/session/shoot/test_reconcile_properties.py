"""What is done about frames left in the middle: the rules that hold whatever was left."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.camera_messages import CardObject, SavedFile
from session.frame.states import FrameState, LoggedFrame
from session.shoot.reconcile import AdoptFile, BodyFrame, Complete, FetchObjects, Missing, NotFired, Step
from tests.support.examples import examples
from tests.support.left_frames import left, on_card, on_disk, planned

S = FrameState


@st.composite
def wrecks(draw: st.DrawFn) -> tuple[list[LoggedFrame], dict[str, list[SavedFile]], list[CardObject], list[CardObject]]:
    """A shoot that was cut off: frames at any step, files on card and disk, releases on the camera in between."""
    frames: list[LoggedFrame] = []
    disk: dict[str, list[SavedFile]] = {}
    card: list[CardObject] = []
    known: list[CardObject] = []
    file_number = draw(st.integers(1, 5000))
    for number in range(1, draw(st.integers(1, 6)) + 1):
        kinds = draw(st.sampled_from([("JPG",), ("JPG", "DNG")]))
        step = draw(st.sampled_from(["dark", "fired", "announced", "half", "on disk", "saved", "logged", "body"]))
        if step == "dark":
            frames.append(left(number, draw(st.sampled_from([S.RELEASING, S.UNCERTAIN]))))
            continue
        objects = tuple(on_card(file_number, kind) for kind in kinds)
        copies = [on_disk(number, kind, file_number) for kind in kinds]
        file_number += 1
        lost = draw(st.integers(0, 9)) == 0
        card += [] if lost else objects
        one = left(number, draw(st.sampled_from([S.RELEASING, S.RECEIVING, S.MISSING])))
        if step == "announced":
            frames.append(left(number, S.MISSING, expected=objects))
        elif step == "half":
            name = copies[0].path.rpartition("/")[2]
            known.append(objects[0])
            frames.append(
                left(number, S.RECEIVING, saved=(name,), saved_objects=objects[:1], expected_files=len(kinds))
            )
        elif step == "on disk":
            disk[f"frame {number}"] = copies[: draw(st.integers(1, len(copies)))]
            frames.append(one)
        elif step == "fired":
            frames.append(one)
        elif step in ("saved", "logged"):
            known += objects
            if step == "saved":
                names = tuple(copy.path.rpartition("/")[2] for copy in copies)
                frames.append(left(number, S.SAVED, saved=names, saved_objects=objects))
    return frames, disk, card, known


def given_out(steps: tuple[Step, ...]) -> list[CardObject]:
    out: list[CardObject] = []
    for step in steps:
        match step:
            case FetchObjects(_, objects) | BodyFrame(objects):
                out += objects
            case AdoptFile(_, file) if file.card.folder:
                out.append(file.card)
    return out


@settings(max_examples=examples(170))
@given(wreck=wrecks())
def test_every_file_on_the_card_is_taken_exactly_once(
    wreck: tuple[list[LoggedFrame], dict[str, list[SavedFile]], list[CardObject], list[CardObject]],
) -> None:
    frames, disk, card, known = wreck
    taken = given_out(planned(frames, card, disk, known))
    new = [card_object for card_object in card if card_object not in known]
    assert [card_object for card_object in taken if card_object in card] == [
        card_object for card_object in taken if card_object in new
    ]
    assert sorted(o.name for o in taken if o in card) == sorted(o.name for o in new)
    assert len(set(taken)) == len(taken)


@settings(max_examples=examples(170))
@given(wreck=wrecks())
def test_every_frame_comes_to_exactly_one_end_and_every_file_on_disk_to_its_frame(
    wreck: tuple[list[LoggedFrame], dict[str, list[SavedFile]], list[CardObject], list[CardObject]],
) -> None:
    frames, disk, card, known = wreck
    steps = planned(frames, card, disk, known)
    ends = [step.frame_id for step in steps if isinstance(step, FetchObjects | Complete | NotFired | Missing)]
    assert sorted(ends) == sorted(frame.frame_id for frame in frames)
    adopted = {(step.frame_id, step.file.path) for step in steps if isinstance(step, AdoptFile)}
    assert adopted == {(key, file.path) for key, files in disk.items() for file in files}
    for step in steps:
        if isinstance(step, NotFired):
            assert step.frame_id not in disk


@settings(max_examples=examples(100))
@given(wreck=wrecks())
def test_after_the_plan_is_carried_out_nothing_is_left_to_do(
    wreck: tuple[list[LoggedFrame], dict[str, list[SavedFile]], list[CardObject], list[CardObject]],
) -> None:
    frames, disk, card, known = wreck
    steps = planned(frames, card, disk, known)
    still = {frame.frame_id: frame for frame in frames}
    for step in steps:
        match step:
            case Complete(frame_id) | NotFired(frame_id, _) | FetchObjects(frame_id, _):
                del still[frame_id]
            case Missing(frame_id, _):
                saved = tuple(file.path.rpartition("/")[2] for file in disk.get(frame_id, ()))
                frame = still[frame_id]
                still[frame_id] = replace(frame, state=S.MISSING, sought=True, saved=(*frame.saved, *saved))
            case _:
                pass
    assert planned(list(still.values()), card, disk, [*known, *given_out(steps)]) == ()
