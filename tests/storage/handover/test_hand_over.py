"""A hand-over: whole and as BagIt has it, going on after any stop, and never over a file that is there."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import resource
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import bagit
import numpy as np
import pytest
from PIL import Image

from session.frame.camera_messages import SavedFile
from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import LogError
from session.frame.shot_plane import newest_by_plane, series_preview_key
from session.frame.states import FrameEvent
from session.order.client_order import Delivery, Order, OrderedPiece
from session.order.order_table import read_order
from session.picture.stored_preview import keep_preview, preview_bytes, preview_path
from session.set.setup import PassiveItem
from session.units.numbers import ratio_text
from session.units.refusals import UnreadableTextError
from storage.files.paths import previews_folder
from storage.handover.bag import verify_bag
from storage.handover.hand_over import hand_over
from storage.handover.handover_plan import LEFT_OUT, NAMES, HandoverPlan, plan_handover
from storage.handover.leaving_files import OriginalsRead
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, PLANE, card_object, intent, revision

pytestmark = pytest.mark.filterwarnings("ignore:'count' is passed as positional:DeprecationWarning")
"""The validator's own, from Python 3.13 on; it is no code of ours."""

TODAY = date(2026, 12, 5)
ORDER = Order(
    "Spring line",
    "Invented & Sons",
    None,
    "one year, web",
    "A. Photographer",
    Delivery(40, 50, ppi=300.0, crop_ratio=0.8),
    (OrderedPiece("ring 1", "A-101", views=("front", "top")), OrderedPiece("חישוק 2", "A-102", views=("front",))),
)


def shot(
    log: SqlLog,
    folder: Path,
    number: int,
    piece: str,
    view: str,
    mark: str | None = "hero",
    *,
    saved_with: Mapping[str, bytes] | None = None,
    revision_id: str = "",
    at: datetime = NOON,
    **more: Any,
) -> Path:
    """A frame with a real JPEG, which is saved with this Exif or comment, found sharp; returns its path."""
    frame_id = begun(log, number, piece, view, folder, saved_with, revision_id, at, **more)
    log.frame_judged(frame_id, [], FocusJudgement(FocusVerdict.SHARP, 0.8, None, 0.0, 0.5, None, ""))
    log.move_frame(frame_id, FrameEvent.JUDGED)
    log.mark(frame_id, mark)
    return folder / f"{number:04d}.JPG"


def begun(
    log: SqlLog,
    number: int,
    piece: str,
    view: str,
    folder: Path,
    saved_with: Mapping[str, bytes] | None = None,
    revision_id: str = "",
    at: datetime = NOON,
    copy_path: str = "",
    **more: Any,
) -> str:
    """A frame with a real JPEG that no check has answered for yet; returns its key.

    revision_id  by which it is shot; "": one of its own
    copy_path    where its second copy is said to lie
    """
    path = folder / f"{number:04d}.JPG"
    grain = np.random.default_rng(number).integers(0, 255, (80, 120, 3), np.uint8)
    Image.fromarray(grain).save(path, "JPEG", **(saved_with or {}))
    place = log.open_place("spring line", piece, view)
    made = revision_id or log.save_revision(place, revision(number, 1))
    wish = intent(number, made, asked_at=at, **more)
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=at)
    data = path.read_bytes()
    digest = hashlib.sha256(data).hexdigest()
    told = SavedFile(str(path), "jpeg", len(data), digest, card_object(number), copy_path=copy_path)
    log.frame_file(wish.frame_id, told)
    log.move_frame(wish.frame_id, FrameEvent.ALL_SAVED)
    return wish.frame_id


@pytest.fixture
def pictures(log: SqlLog, tmp_path: Path) -> list[Path]:
    log.keep_order(ORDER)
    folder = tmp_path / "pictures"
    folder.mkdir()
    places = (("ring 1", "front"), ("ring 1", "top"), ("חישוק 2", "front"))
    return [shot(log, folder, number, *place) for number, place in enumerate(places, 1)]


def planned(
    reader: LogReader,
    template: str = NAMES,
    mark: str = "hero",
    *,
    delivers: bool = True,
    read: OriginalsRead | None = None,
) -> HandoverPlan:
    progress = reader.progress("spring line")
    return plan_handover(
        reader.records(), progress, "spring line", mark, template, delivers=delivers, outcomes={}, read=read
    )


def write_page(path: Path) -> None:
    """In the contact sheet's place."""
    path.write_text("a page")


def whole(plan: HandoverPlan, folder: Path) -> dict[str, bytes]:
    """Hand over to the end; every file by its path."""
    list(hand_over(plan, folder, "stillset 0", TODAY, [("contact-sheet.html", write_page)]))
    return contents(folder)


def contents(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_a_hand_over_is_a_bag_that_another_program_accepts(
    reader: LogReader, pictures: list[Path], tmp_path: Path
) -> None:
    files = whole(planned(reader), tmp_path / "out")
    assert bagit.Bag(str(tmp_path / "out")).validate()
    assert list(verify_bag(tmp_path / "out")) == []
    for path, name in zip(pictures, ("A-101_ring_1_front_0001", "A-101_ring_1_top_0002"), strict=False):
        assert files[f"data/originals/{name}.jpg"] == path.read_bytes()
        assert {f"data/originals/{name}.xmp", f"data/delivered/{name}.jpg", f"data/delivered/{name}.xmp"} <= set(files)
    again = read_order(files["data/tables/order.csv"])
    assert again == replace(ORDER, job="Spring line")
    assert files["data/tables/frames.jsonl"].count(b"\n") == files["data/tables/frames.csv"].count(b"\r\n") - 1 == 3


@pytest.mark.parametrize(
    ("harm", "fault"),
    [
        (lambda path: path.write_bytes(path.read_bytes()[:-1] + b"?"), "is not as it was handed over"),
        (lambda path: path.unlink(), "is missing"),
        (lambda path: path.with_name("more.txt").write_text("?"), "more.txt is in no manifest"),
    ],
)
def test_what_was_changed_since_is_found(
    reader: LogReader, pictures: list[Path], tmp_path: Path, harm: Callable[[Path], object], fault: str
) -> None:
    whole(planned(reader), tmp_path / "out")
    harm(tmp_path / "out/data/originals/A-101_ring_1_front_0001.jpg")
    (found,) = verify_bag(tmp_path / "out")
    assert fault in found
    with pytest.raises(bagit.BagError):
        bagit.Bag(str(tmp_path / "out")).validate()


def test_a_manifest_that_leads_out_of_the_folder_reads_nothing_there(
    reader: LogReader, pictures: list[Path], tmp_path: Path
) -> None:
    whole(planned(reader), tmp_path / "out")
    with (tmp_path / "out/manifest-sha256.txt").open("a") as manifest:
        manifest.write(f"{'0' * 64}  data/../../log.sqlite\n")
    assert "data/../../log.sqlite lies out of the folder" in list(verify_bag(tmp_path / "out"))


def test_a_whole_hand_over_is_never_written_over(reader: LogReader, pictures: list[Path], tmp_path: Path) -> None:
    before = whole(planned(reader), tmp_path / "out")
    with pytest.raises(LogError, match="is a whole hand-over already"):
        whole(planned(reader), tmp_path / "out")
    assert contents(tmp_path / "out") == before


@pytest.mark.parametrize(
    "name", ["data/originals/A-101_ring_1_front_0001.jpg", "data/tables/frames.csv", "bag-info.txt"]
)
def test_another_file_in_the_way_stays_as_it_is(
    reader: LogReader, pictures: list[Path], tmp_path: Path, name: str
) -> None:
    other = tmp_path / "out" / name
    other.parent.mkdir(parents=True)
    other.write_text("somebody's own")
    with pytest.raises(LogError, match="is there and is another file; nothing"):
        whole(planned(reader), tmp_path / "out")
    assert other.read_text() == "somebody's own"
    assert not (tmp_path / "out/manifest-sha256.txt").exists()


def test_a_file_that_is_nobodys_keeps_the_folder_open(reader: LogReader, pictures: list[Path], tmp_path: Path) -> None:
    (tmp_path / "out/data/originals").mkdir(parents=True)
    (tmp_path / "out/data/originals/mine.jpg").write_text("?")
    with pytest.raises(LogError, match=r"mine\.jpg is not of this hand-over"):
        whole(planned(reader), tmp_path / "out")
    assert not (tmp_path / "out/manifest-sha256.txt").exists()


def test_an_original_that_changed_since_it_was_saved_is_not_handed_over(
    reader: LogReader, pictures: list[Path], tmp_path: Path
) -> None:
    plan = planned(reader)  # the originals weren't read for it
    was = pictures[1].read_bytes()
    pictures[1].write_bytes(was[:-2] + b"??")
    with pytest.raises(LogError, match=r"Frame 2: .*0002.JPG is not as it was saved any more; asked for again"):
        whole(plan, tmp_path / "out")
    left = contents(tmp_path / "out")
    assert not any("0002" in name for name in left) and "manifest-sha256.txt" not in left
    read = OriginalsRead()
    plan = planned(reader, read=read)
    assert "Frame 2: 0002.JPG isn't as it was saved; it is left out." in plan.missing and LEFT_OUT in plan.cautions
    left = whole(plan, tmp_path / "out")
    assert not any("0002" in name for name in left if "originals" in name) and "manifest-sha256.txt" in left
    pictures[1].write_bytes(was)
    assert not planned(reader, read=read).missing, "whole again, it goes along"


def test_a_sidecar_that_is_none_is_told_once_before_anything_is_written(
    reader: LogReader, pictures: list[Path], tmp_path: Path
) -> None:
    pictures[0].with_suffix(".xmp").write_text("no sidecar")
    plan = planned(reader)
    assert [one for one in plan.cautions if "0001.xmp is not merged: it is no XML" in one]
    steps = list(hand_over(plan, tmp_path / "out", "stillset 0", TODAY, []))
    assert not [step.told for step in steps if step.told]


def test_a_sidecar_that_cant_be_opened_is_told_and_stops_nothing(
    reader: LogReader, pictures: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    locked, read_bytes = pictures[0].with_suffix(".xmp"), Path.read_bytes
    locked.write_text("another program's")

    def refusing(path: Path) -> bytes:
        if path == locked:
            raise PermissionError(13, "Permission denied")
        return read_bytes(path)

    monkeypatch.setattr(Path, "read_bytes", refusing)
    plan = planned(reader)
    assert f"Frame 1: {locked.name} can't be read: Permission denied." in plan.cautions
    assert "manifest-sha256.txt" in whole(plan, tmp_path / "out")


def test_of_an_original_that_changed_the_second_copy_is_handed_over(
    reader: LogReader, pictures: list[Path], tmp_path: Path
) -> None:
    (record,) = [one for one in reader.records() if one.number == 2]
    copy = tmp_path / "copy.jpg"
    copy.write_bytes(pictures[1].read_bytes())
    pictures[1].write_bytes(b"?" * copy.stat().st_size)
    copied = replace(record, files=(replace(record.files[0], copies=(str(copy),)), *record.files[1:]))
    progress = reader.progress("spring line")
    plan = plan_handover(
        [copied], progress, "spring line", "hero", NAMES, delivers=False, outcomes={}, read=OriginalsRead()
    )
    assert [path for frame in plan.frames for _, path in frame.files] == [copy]
    assert LEFT_OUT not in plan.cautions


@contextmanager
def no_file_larger_than(most_bytes: int) -> Iterator[None]:
    """The system refuses to let a file grow larger, as a full disk does."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def test_a_disk_that_is_full_leaves_nothing_half_written_under_a_name(
    reader: LogReader, pictures: list[Path], tmp_path: Path
) -> None:
    plan = planned(reader)
    with no_file_larger_than(pictures[0].stat().st_size - 1), pytest.raises(OSError, match="File too large"):
        whole(plan, tmp_path / "out")
    assert contents(tmp_path / "out") == {}
    assert whole(plan, tmp_path / "out") == whole(plan, tmp_path / "another")


def test_what_is_missing_is_told_and_the_rest_is_handed_over(
    log: SqlLog, reader: LogReader, pictures: list[Path], tmp_path: Path
) -> None:
    pictures[0].unlink()
    plan = planned(reader)
    assert "Frame 1: 0001.JPG isn't there any more; it is left out." in plan.cautions
    assert [frame.record.number for frame in plan.frames] == [2, 3]
    assert "data/originals/A-101_ring_1_top_0002.jpg" in whole(plan, tmp_path / "out")


def test_a_preview_is_no_original_and_a_hand_over_says_so(
    log: SqlLog, reader: LogReader, pictures: list[Path], path: Path, tmp_path: Path
) -> None:
    first = next(iter(reader.records()))
    previews_folder(path).mkdir()
    keep_preview(previews_folder(path), first.frame_id, np.full((80, 120, 3), 118, np.uint8), (120, 80))
    pictures[0].unlink()
    plan = planned(reader)
    told = next(text for text in plan.cautions if text.startswith("Frame 1: 0001.JPG"))
    assert told.endswith("it is left out. Its stored preview, which is no original, is in the contact sheet alone.")
    assert not any("0001" in name for name in whole(plan, tmp_path / "out"))


def test_a_preview_stands_in_for_no_raw_beside_which_the_jpeg_is_there(
    log: SqlLog, reader: LogReader, pictures: list[Path], path: Path, tmp_path: Path
) -> None:
    """The contact sheet shows the JPEG then."""
    first = next(iter(reader.records()))
    raw = SavedFile(str(tmp_path / "0001.RAW"), "raw", 1000, "0" * 64, card_object(1, "RAW"))
    log.frame_file(first.frame_id, raw)
    previews_folder(path).mkdir()
    keep_preview(previews_folder(path), first.frame_id, np.full((80, 120, 3), 118, np.uint8), (120, 80))
    told = [text for text in planned(reader).cautions if text.startswith("Frame 1:")]
    assert told == ["Frame 1: 0001.RAW isn't there any more; it is left out."]


def test_views_without_a_hero_or_with_several_are_told(log: SqlLog, reader: LogReader, pictures: list[Path]) -> None:
    folder = pictures[0].parent
    shot(log, folder, 4, "ring 1", "front")
    first = next(record for record in reader.records() if record.number == 2)
    log.mark(first.frame_id, "select")
    cautions = planned(reader).cautions
    assert "ring 1, front has several heroes: frames 1, 4." in cautions
    assert "ring 1, top has no hero." in cautions
    assert [frame.record.number for frame in planned(reader, mark="select").frames] == [2]


def test_a_frame_with_fewer_pixels_than_ordered_is_told(log: SqlLog, reader: LogReader, pictures: list[Path]) -> None:
    """120 × 80 px cropped to 4:5 are 64 × 80 px."""
    assert not any("px in the ordered crop" in caution for caution in planned(reader).cautions)
    log.keep_order(replace(ORDER, delivery=Delivery(400, 500)))
    assert "Frame 1 has 64 × 80 px in the ordered crop, of 400 × 500." in planned(reader).cautions


def test_heroes_whose_focus_was_not_judged_are_told_in_their_own_words(
    log: SqlLog, reader: LogReader, pictures: list[Path]
) -> None:
    """One that no check looked at, one of which the check couldn't tell, and one approved by eye as the reference."""
    for number, focus in ((4, None), (5, FocusJudgement(FocusVerdict.UNJUDGED, reason="too little detail; look."))):
        frame_id = begun(log, number, "ring 1", "front", pictures[0].parent)
        if focus:
            log.frame_judged(frame_id, [], focus)
        log.move_frame(frame_id, FrameEvent.JUDGED)
        log.mark(frame_id, "hero")
    cautions = planned(reader).cautions
    assert "Frame 4 (ring 1, front): its focus was not judged; look at it pixel for pixel." in cautions
    told = "Frame 5 (ring 1, front): its focus was not judged, too little detail; look at it pixel for pixel."
    assert told in cautions
    progress = reader.progress("spring line")
    assert progress is not None and progress.views[0].heroes_not_judged == (4, 5)
    log.set_reference(log.open_place("spring line", "ring 1", "front"), 5, frame_id)
    plan = planned(reader)
    assert told not in plan.cautions
    assert "Hero frame 5 is a reference, whose focus was approved by eye alone." in plan.cautions
    progress = reader.progress("spring line")
    assert progress is not None and progress.views[0].heroes_not_judged == (4,)
    words = [frame.facts(plan.order, "J-1").own["focus"] for frame in plan.frames]
    assert words == ["sharp", "sharp", "sharp", "not judged", "reference"]


def test_what_stands_in_our_namespace_is_in_the_words_of_the_card(reader: LogReader, pictures: list[Path]) -> None:
    frame = planned(reader).frames[0]
    stood = replace(
        frame.record.revision,
        passive=(PassiveItem("bounce", "white card", 150.0, 120.0, 30.0), PassiveItem("plate", "pane")),
    )
    own = replace(frame, record=replace(frame.record, revision=stood)).facts(ORDER, "J-1").own
    assert own["reflectorsAndFlags"] == "reflector white card 150 mm 120° left · 30° up; glass pane in the set"
    assert own["magnification"] == ratio_text(stood.arrangement.magnification)
    documented = Path("docs/handover.md").read_text(encoding="utf-8")
    assert all(f"`{name}`" in documented for name in own)


def test_names_that_would_be_one_are_refused(reader: LogReader, pictures: list[Path], tmp_path: Path) -> None:
    plan = planned(reader, "{job}-{piece}")
    assert plan.faults == ("Frames 1, 2 would all be called spring_line-ring_1; put {number} into --names.",)
    with pytest.raises(LogError, match="would all be called"):
        whole(plan, tmp_path / "out")
    assert not (tmp_path / "out").exists()


TEMPLATES = ("{client}", "a/b{number}", "../{number}", "{number", "{number:>500}", "", "{piece!r}", "x" * 200)


@pytest.mark.parametrize("template", TEMPLATES)
def test_a_template_that_can_not_be_a_name_is_refused(reader: LogReader, pictures: list[Path], template: str) -> None:
    with pytest.raises(UnreadableTextError):
        planned(reader, template)


def test_a_marked_frame_of_a_focus_series_brings_all_planes_in_order_with_their_table(
    log: SqlLog, reader: LogReader, tmp_path: Path
) -> None:
    folder = tmp_path / "shot"
    folder.mkdir()
    places = {1: 1.76, 2: 0.0, 3: 0.0, 4: 0.88}
    for number, mm in places.items():
        plane = replace(PLANE, plane_mm=mm, frames=3)
        shot(log, folder, number, "ring 1", "front", "hero" if number == 3 else None, series=plane)
    shot(log, folder, 5, "ring 1", "top")
    plan = planned(reader, mark="hero")
    files = whole(plan, tmp_path / "out")
    named = sorted(name for name in files if name.startswith("data/series/"))
    inside = [name.partition("/series/")[2].partition("/")[2] for name in named]
    assert inside == ["001_0003.jpg", "002_0004.jpg", "003_0001.jpg", "planes.csv"]
    for name, number in zip(named, (3, 4, 1), strict=False):
        assert files[name] == (folder / f"{number:04d}.JPG").read_bytes()
    rows = list(csv.DictReader(io.StringIO(files["data/tables/planes.csv"].decode())))
    told = [(row["position"], row["frame"], row["plane_mm"], row["moved_by"]) for row in rows]
    assert told == [("1", "3", "0.0", "drive"), ("2", "4", "0.88", "drive"), ("3", "1", "1.76", "drive")]
    assert rows[0]["files"] == named[0]
    assert any("one of a series of 3 planes" in caution for caution in plan.cautions)
    lines = [json.loads(line) for line in files["data/tables/planes.jsonl"].decode().splitlines()]
    assert lines[1]["plane_mm"] == 0.88 and len(lines) == 3


@pytest.fixture
def series(log: SqlLog, reader: LogReader, tmp_path: Path) -> list[str]:
    """A series of two planes, the first marked hero, the second saved as two files of one ending; the frames' keys."""
    folder = tmp_path / "shot"
    folder.mkdir()
    for number, mm in {1: 0.0, 2: 0.88}.items():
        plane = replace(PLANE, plane_mm=mm, frames=2)
        shot(log, folder, number, "ring 1", "front", "hero" if number == 1 else None, series=plane)
    keys = [row.frame_id for row in sorted(reader.frames(), key=lambda row: row.number)]
    second = folder / "0002b.JPG"
    second.write_bytes(b"another file of the frame")
    digest = hashlib.sha256(second.read_bytes()).hexdigest()
    log.frame_file(keys[1], SavedFile(str(second), "raw", 25, digest, card_object(2, "JPG")))
    return keys


def test_two_files_of_one_ending_of_a_plane_leave_both_and_are_told_where_they_lie(
    reader: LogReader, series: list[str], tmp_path: Path
) -> None:
    plan = planned(reader, delivers=False)
    files = whole(plan, tmp_path / "out")
    folder = f"data/series/{plan.series[0].name}"
    both = [f"{folder}/002_0002.jpg", f"{folder}/002_0002-2.jpg"]
    assert set(both) <= set(files)
    told = [json.loads(line)["files"] for line in files["data/tables/frames.jsonl"].decode().splitlines()]
    assert sorted(file["path"] for file in told[1]) == sorted(both)
    assert told[0][0]["path"].startswith("data/originals/"), "a marked frame lies there too"
    for file in told[1]:
        assert hashlib.sha256(files[file["path"]]).hexdigest() == file["sha256"]
    assert json.loads(files["data/tables/planes.jsonl"].decode().splitlines()[1])["files"] == [
        file["path"] for file in told[1]
    ]


def test_planes_that_lack_and_a_picture_that_is_still_to_be_merged_count_as_missing(
    log: SqlLog, reader: LogReader, series: list[str], tmp_path: Path
) -> None:
    assert not any("series" in one for one in planned(reader, delivers=False).missing)
    log.mark(series[1], "kill")
    plan = planned(reader)
    assert "The series of frame 1 lacks plane 2 of 2." in plan.missing
    told = "No picture is delivered of frame 1: it is one plane of a series, to be merged first."
    assert told in plan.missing and told in plan.cautions
    assert not any(name.startswith("data/delivered/") for name in whole(plan, tmp_path / "out"))


def test_a_plane_whose_file_is_gone_counts_as_missing(reader: LogReader, series: list[str], tmp_path: Path) -> None:
    (tmp_path / "shot/0002.JPG").unlink()
    assert "Frame 2: 0002.JPG isn't there any more; it is left out." in planned(reader, delivers=False).missing


def test_a_preview_of_the_frames_of_before_is_not_handed_over(
    log: SqlLog, reader: LogReader, series: list[str], path: Path
) -> None:
    best = newest_by_plane(one.shot_plane for one in reader.records() if one.shot_plane)
    key = series_preview_key(best)
    previews_folder(path).mkdir(exist_ok=True)
    jpeg = preview_bytes(np.full((80, 120, 3), 118, np.uint8), key, (120, 80))
    (previews_folder(path) / f"{key}.jpg").write_bytes(jpeg)
    (now,) = planned(reader, delivers=False).series
    assert now.preview == jpeg and "No preview" not in now.told
    folder = Path(next(file.path for file in next(reader.records()).files)).parent
    shot(log, folder, 3, "ring 1", "front", None, series=replace(PLANE, plane_mm=0.0, frames=2))
    (later,) = planned(reader, delivers=False).series
    assert [plane.record.number for plane in later.planes] == [3, 2]
    assert later.preview is None and "No preview of these frames is stored" in later.told


def test_a_preview_that_was_made_anew_meanwhile_does_not_end_a_hand_over(
    reader: LogReader, series: list[str], path: Path, tmp_path: Path
) -> None:
    def look(grey: int) -> None:
        previews_folder(path).mkdir(exist_ok=True)
        pixels = np.full((80, 120, 3), grey, np.uint8)
        key = series_preview_key(newest_by_plane(one.shot_plane for one in reader.records() if one.shot_plane))
        place = preview_path(previews_folder(path), key)
        assert place is not None
        place.write_bytes(preview_bytes(pixels, key, (120, 80)))

    look(118)
    plan = planned(reader, delivers=False)
    look(30)
    name = plan.series[0].preview_path
    steps = list(hand_over(plan, tmp_path / "one", "stillset 0", TODAY, []))
    assert (tmp_path / "one" / name).read_bytes() == plan.series[0].preview, "as it was looked at"
    (tmp_path / "one/manifest-sha256.txt").unlink()
    again = list(hand_over(planned(reader, delivers=False), tmp_path / "one", "stillset 0", TODAY, []))
    assert [step.path for step in again] == [step.path for step in steps]
    assert [step.path for step in again if "when the hand-over was begun" in step.told] == [name]
    assert list(verify_bag(tmp_path / "one")) == []


def test_of_a_plane_of_a_series_nobody_asks_whether_its_focus_was_judged(
    log: SqlLog, reader: LogReader, tmp_path: Path
) -> None:
    log.keep_order(ORDER)
    frame_id = begun(log, 1, "ring 1", "front", tmp_path, series=PLANE)
    log.move_frame(frame_id, FrameEvent.JUDGED)
    log.mark(frame_id, "hero")
    plan, progress = planned(reader), reader.progress("spring line")
    assert not any("not judged" in caution for caution in plan.cautions)
    assert plan.frames[0].facts(plan.order, "J-1").own["focus"] == ""
    assert progress is not None and progress.views[0].heroes_not_judged == ()
