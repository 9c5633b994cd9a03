"""`stillset setup`: what changed, in objects for programs; what is set; a copy for another job."""

from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from session.set.setup import PassiveItem, PlacedLight, Region, Revision
from storage.files.set_pictures import set_pictures_folder
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import whole_frame
from tui.commands.command_line import stillset
from tui.commands.setup_command import checklist, copy, diff, picture, set_, show, solos, vary
from tui.shell.troubles import CommandFailed


@pytest.fixture
def log_path(tmp_path: Path) -> str:
    """A log with set-up 01.1, and 01.2 with another region, a reflector and more depth."""
    path = tmp_path / "shoot.db"
    with closing(SqlLog.open(path)) as log:
        place = log.open_place("Rings", "ring 4", "front", "")
        log.save_revision(place, Revision(region=Region(0.4, 0.4, 0.2, 0.2)))
        card = PassiveItem("bounce", "white card", 200, 60)
        moved = Revision(revision=2, region=Region(0, 0, 0.5, 0.5), passive=(card,), depth_needed_mm=3.0)
        log.save_revision(place, moved)
    return str(path)


def test_as_json_a_region_is_an_object(log_path: str) -> None:
    told = CliRunner().invoke(diff, ["01.1", "01.2", "--log", log_path, "--json"])
    rows = {row["name"]: row for row in map(json.loads, told.output.splitlines())}
    assert rows["region"]["new"] == {"left": 0, "top": 0, "width": 0.5, "height": 0.5}
    assert rows["depth_needed_mm"]["new"] == 3
    card = rows["reflector white card"]
    assert card["old"] is None and card["new"]["distance_mm"] == 200


def test_a_region_is_told_in_words(log_path: str) -> None:
    told = CliRunner().invoke(diff, ["01.1", "01.2", "--log", log_path]).output.splitlines()
    old, new = "20 % × 20 % of the picture, middle at 50 %, 50 %", "50 % × 50 % of the picture, middle at 25 %, 25 %"
    assert f"Region went from {old} to {new}." in told
    assert "Depth needed is 3.0 mm; before, it was not said." in told
    assert any(line.startswith("Reflector white card was put in: ") for line in told)
    back = CliRunner().invoke(diff, ["01.2", "01.1", "--log", log_path]).output.splitlines()
    assert any(line.startswith("Reflector white card was taken out; it was there with ") for line in back)
    assert "Depth needed is not said any more; it was 3.0 mm." in back


def test_a_variation_is_a_set_up_of_its_own_that_differs_and_is_told_in_sentences_against_the_other(
    log_path: str,
) -> None:
    CliRunner().invoke(set_, ["01", "--log", log_path, "--light", "key,power_ev=1/4,distance_mm=600"])
    made = CliRunner().invoke(vary, ["01.3", "--log", log_path, "--light", "key,power_ev=1/8,distance_mm=720"])
    assert made.exit_code == 0 and "Set-up 02.1 of Rings · ring 4 · front, a variation of 01.3." in made.output
    told = CliRunner().invoke(diff, ["01.3", "02.1", "--log", log_path]).output.splitlines()
    assert told == [
        "Light key power went from 1/4 (−2 EV) to 1/8 (−3 EV), 1 EV less.",
        "Light key distance went from 600 mm to 720 mm, 120 mm farther.",
    ]
    same = CliRunner().invoke(vary, ["01.3", "--log", log_path])
    assert same.exit_code == 2 and "nothing would differ from 01.3" in " ".join(same.output.split())


def test_a_light_is_placed_by_tape_and_a_misfit_is_told(log_path: str) -> None:
    """From marks 300 mm left and 400 mm toward the camera the piece is 500 mm off along the table; 36.9° left."""
    placed = CliRunner().invoke(set_, ["01", "--log", log_path, "--light", "key,taped=300 left 400 front 0 up"])
    assert placed.exit_code == 0 and "By tape: 37° left (±1°) · 0° up." in placed.output
    assert "37° left" in CliRunner().invoke(show, ["01", "--log", log_path]).output
    refused = CliRunner().invoke(set_, ["01", "--log", log_path, "--light", "key,taped=far left"])
    assert refused.exit_code == 2 and "'far left' is no place by tape. By tape, mm:" in refused.output
    unknown = CliRunner().invoke(set_, ["01", "--log", log_path, "--light", "key,taped=620 540 300 left"])
    assert unknown.exit_code == 2 and "where the camera stands isn't known" in unknown.output


def test_the_check_list_is_shown_and_confirmed_for_a_piece(log_path: str) -> None:
    shown = CliRunner().invoke(checklist, ["01.2", "--log", log_path])
    assert "  strap tied back\n" in shown.output and "To do: not confirmed yet; --confirm" in shown.output
    assert "black trap" not in shown.output, "no glass stands in the set"
    done = CliRunner().invoke(checklist, ["01.2", "--log", log_path, "--confirm"])
    assert done.exit_code == 0 and "\nConfirmed " in done.output
    told = json.loads(CliRunner().invoke(checklist, ["01.2", "--log", log_path, "--json"]).output)
    assert told["confirmed"] is True and "stabiliser off" in told["items"]
    other = CliRunner().invoke(checklist, ["01.1", "--log", log_path])
    assert "To do:" in other.output, "it is confirmed once per revision"
    assert CliRunner().invoke(checklist, ["01.2", "--piece", "none", "--log", log_path]).exit_code == 2


def test_a_light_is_set_only_to_a_power_that_it_has(tmp_path: Path) -> None:
    """The rule of the bench's keys: by the demo's kit the key goes down to 1/128."""
    place = ["--log", str(tmp_path / "new.db"), "--job", "Rings", "--piece", "ring 4", "--view", "front"]
    refused = CliRunner().invoke(set_, [*place, "--light", "key,power_ev=1/256"])
    assert refused.exit_code == 2
    assert "1/256 (−8 EV) is less than 'key' has" in " ".join(refused.output.split())
    taken = CliRunner().invoke(set_, [*place, "--light", "key,power_ev=1/128"])
    assert taken.exit_code == 0 and "1/128 (−7 EV)" in taken.output


def test_a_copy_begins_a_set_up_of_its_own_in_another_job_with_nothing_confirmed(log_path: str) -> None:
    with closing(SqlLog.open(Path(log_path))) as log:
        place = log.open_place("Rings", "ring 4", "front", "")
        log.save_revision(
            place, Revision(revision=3, confirmed=("stabiliser off",), ambient_ev=-7.0, notes="card near")
        )
    where = ["--job", "Rings again", "--piece", "ring 9", "--view", "front"]
    copied = CliRunner().invoke(copy, ["01.3", "--log", log_path, *where, "--f-number", "16"])
    assert copied.exit_code == 0, copied.output
    first, change = copied.output.splitlines()
    assert first == "Set-up 01.1 of Rings again · ring 9 · front, a copy of 01.3."
    assert change.strip() == "aperture: f/11 → f/16"
    told = json.loads(CliRunner().invoke(show, ["--log", log_path, "--job", "Rings again", "--json"]).output)
    assert (told["setup"], told["notes"], told["settings"]["f_number"]) == ("01.1", "card near", 16.0)
    assert (told["confirmed"], told["ambient_ev"]) == ([], None)
    of_old = json.loads(CliRunner().invoke(show, ["01.3", "--log", log_path, "--job", "Rings", "--json"]).output)
    assert (of_old["confirmed"], of_old["settings"]["f_number"]) == (["stabiliser off"], 11.0)
    again = CliRunner().invoke(copy, ["01.1", "--from-job", "Rings", "--log", log_path, "--view", "top"])
    assert again.output.splitlines()[0] == "Set-up 02.1 of Rings again · ring 9 · top, a copy of 01.1."


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["07.3"], "has no set-up 07.3"),
        (["01.1", "--from-job", "Nowhere"], "job 'Nowhere' has no set-up 01.1"),
        (["01.1", "--light", "nosuch,power_ev=-1"], "the kit has no light 'nosuch'"),
        (["01.1"], "job 'Rings again' has no piece yet: say --piece and --view"),
    ],
)
def test_what_is_refused_is_not_copied_and_begins_no_job(log_path: str, words: list[str], sentence: str) -> None:
    refused = CliRunner().invoke(copy, [*words, "--log", log_path, "--job", "Rings again"])
    assert refused.exit_code == 2 and sentence in " ".join(refused.output.split())
    with closing(LogReader.open(log_path)) as reader:
        assert [job.name for job in reader.jobs()] == ["Rings"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["01.1", "--job", "Rinsg"], "job 'Rinsg' has no set-up 01.1"),
        (["--job", "Rinsg", "--light", "key,power_ev=1/256"], "is less than 'key' has"),
        (["--piece", "ring 5", "--view", "top", "--setup", "07.3"], "has no set-up 07.3"),
    ],
)
def test_what_set_refuses_begins_no_job_and_no_piece(log_path: str, words: list[str], sentence: str) -> None:
    refused = CliRunner().invoke(set_, [*words, "--log", log_path])
    assert refused.exit_code == 2 and sentence in " ".join(refused.output.split())
    with closing(LogReader.open(log_path)) as reader:
        assert [(one.job, one.piece, one.view) for one in reader.places()] == [("Rings", "ring 4", "front")]


def test_a_set_without_solos_says_which_are_missing_and_the_key_that_shoots_them(tmp_path: Path) -> None:
    path = tmp_path / "shoot.db"
    with closing(SqlLog.open(path)) as log:
        place = log.open_place("Rings", "ring 4", "front", "")
        log.save_revision(place, Revision(lights=(PlacedLight("key"), PlacedLight("fill"))))
    told = CliRunner().invoke(solos, ["--log", str(path)])
    assert told.exit_code == 0
    assert "Missing: all together, key alone, fill alone, ambient alone. At the bench, S shoots them." in told.output
    rows = json.loads(CliRunner().invoke(solos, ["--log", str(path), "--json"]).output)
    assert rows["sum"] is None and rows["frames"]["key alone"] is None


def phone_picture(path: Path, colour: str) -> str:
    Image.new("RGB", (400, 300), colour).save(path, "JPEG")
    return str(path)


def test_pictures_of_the_set_are_attached_told_shown_and_deleted(log_path: str, tmp_path: Path) -> None:
    one, two = (phone_picture(tmp_path / f"{colour}.jpg", colour) for colour in ("red", "green"))
    with closing(SqlLog.open(Path(log_path))):  # as a bench has it
        told = CliRunner().invoke(picture, ["01.1", one, two, "--log", log_path])
    assert told.output == f"{one}: picture 1 of set-up 01.1.\n{two}: picture 2 of set-up 01.1.\n"
    listed = CliRunner().invoke(picture, ["01.1", "--log", log_path]).output.splitlines()
    assert [line.split("  ")[1] for line in listed] == ["picture 1 of 01.1", "picture 2 of 01.1"]
    later = CliRunner().invoke(show, ["01.2", "--log", log_path]).output
    assert "picture 1 of 01.1  " in later and "picture 2 of 01.1  " in later
    told_json = json.loads(CliRunner().invoke(show, ["01.1", "--log", log_path, "--json"]).output)
    assert [Path(path).is_file() for path in told_json["set_pictures"]] == [True, True]
    gone = CliRunner().invoke(picture, ["01.1", "--remove", "1", "--log", log_path])
    assert gone.output == "Picture 1 of set-up 01.1 is deleted.\n"
    assert "picture 1" not in CliRunner().invoke(show, ["01.1", "--log", log_path]).output
    none = CliRunner().invoke(picture, ["01.2", "--log", log_path]).output
    assert none == "Set-up 01.2 has no pictures of the set.\n"


def test_pictures_of_the_set_lie_beside_the_standby_copy_too(log_path: str, tmp_path: Path) -> None:
    one, two = (phone_picture(tmp_path / f"{colour}.jpg", colour) for colour in ("red", "green"))
    disk = tmp_path / "second disk"
    missing = CliRunner().invoke(picture, ["01.1", one, "--copy-to", str(disk), "--log", log_path])
    assert missing.exit_code == 2 and "is its disk plugged in?" in missing.output
    assert "has no pictures" in CliRunner().invoke(picture, ["01.1", "--log", log_path]).output
    disk.mkdir()
    CliRunner().invoke(picture, ["01.1", one, "--log", log_path])
    assert CliRunner().invoke(picture, ["01.1", two, "--copy-to", str(disk), "--log", log_path]).exit_code == 0
    standby = disk / f"{Path(log_path).name}.standby"
    own, copied = ([file.read_bytes() for file in files_of(Path(log))] for log in (log_path, standby))
    assert len(own) == 2 and own == copied
    gone = ["01.1", "--remove", "1", "--log", log_path]
    assert CliRunner().invoke(picture, gone, env={"STILLSET_COPY_TO": str(disk)}).exit_code == 0
    assert [file.name for file in files_of(standby)] == [file.name for file in files_of(Path(log_path))]
    CliRunner().invoke(picture, ["01.1", one, "--copy-to", str(disk), "--log", log_path])
    (at_log,) = [file for file in files_of(Path(log_path)) if file.name.startswith("03-")]
    gone_there = at_log.with_name(f"03-{'0' * 16}.jpg")  # deleted at the log while the disk was away
    second = set_pictures_folder(standby) / at_log.parent.name
    (second / gone_there.name).write_bytes(b"an older picture")
    assert (
        CliRunner().invoke(picture, ["01.1", "--remove", "3", "--copy-to", str(disk), "--log", log_path]).exit_code == 0
    )
    assert not (second / at_log.name).exists() and (second / gone_there.name).exists()
    (second / gone_there.name).unlink()
    none = CliRunner().invoke(picture, ["01.1", "--remove", "2", "--remove", "9", "--log", log_path])
    assert none.exit_code == 1 and "has no picture 9. Nothing was deleted" in none.output
    standby.write_bytes(b"another file")
    refused = CliRunner().invoke(picture, ["01.1", one, "--copy-to", str(disk), "--log", log_path])
    assert refused.exit_code == 1 and "The pictures are as said." in refused.output
    assert len(files_of(Path(log_path))) == 2 and len(files_of(standby)) == 1


def files_of(log: Path) -> list[Path]:
    return sorted(set_pictures_folder(log).rglob("*.jpg"))


def test_where_one_picture_cannot_be_read_none_is_attached(log_path: str, tmp_path: Path) -> None:
    good, bad = phone_picture(tmp_path / "good.jpg", "red"), tmp_path / "IMG_0001.HEIC"
    bad.write_bytes(b"\0\0\0\x18ftypheic\0\0\0\0")
    refused = CliRunner().invoke(picture, ["01.1", good, str(bad), "--log", log_path], standalone_mode=False)
    assert isinstance(refused.exception, CommandFailed)
    assert "is a HEIC picture, which can't be read here" in str(refused.exception.message)
    assert "has no pictures" in CliRunner().invoke(picture, ["01.1", "--log", log_path]).output


def test_in_a_log_with_two_jobs_set_ups_are_told_with_their_job(log_path: str, tmp_path: Path) -> None:
    alone = CliRunner().invoke(show, ["01.1", "--log", log_path]).output.splitlines()[0]
    assert alone == "Set-up 01.1"
    with closing(SqlLog.open(Path(log_path))) as log:
        place = log.open_place("Movements", "bridge", "top", "")
        whole_frame(log, place, 1, log.save_revision(place, Revision()))
    for job in ("Rings", "Movements"):
        asked = ["--job", job, "--log", log_path]
        assert CliRunner().invoke(show, ["01.1", *asked]).output.splitlines()[0] == f"Set-up 01.1 of {job}"
        assert json.loads(CliRunner().invoke(show, ["01.1", *asked, "--json"]).output)["job"] == job
        card = str(tmp_path / f"{job}.html")
        told = CliRunner().invoke(stillset, ["card", "01.1", card, *asked]).output
        assert told == f"{card}: set card of set-up 01.1 of {job}.\n"
        assert f"<bdi>{job}</bdi> · set-up 01.1 · stillset" in Path(card).read_text()
        none = CliRunner().invoke(picture, ["01.1", *asked]).output
        assert none == f"Set-up 01.1 of {job} has no pictures of the set.\n"
    frames = CliRunner().invoke(stillset, ["log", "frames", "--log", log_path]).output
    assert "01.1 of Movements" in frames
    only = CliRunner().invoke(stillset, ["log", "frames", "--job", "Movements", "--log", log_path]).output
    assert "01.1" in only and " of Movements" not in only
