"""`stillset check`: any files on disk, judged like frames; bad ones are told and the rest goes on."""

from __future__ import annotations

import io
import json
import os
import struct
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from session.checks.material.checked_picture import gather
from session.frame.finding import FocusVerdict
from session.order.client_order import Order, OrderedPiece
from session.picture.stored_preview import keep_preview
from session.set.client_standard import Standard
from tests.support.made_pictures import blurred, coded, jpeg_bytes, photograph, relit, shadowed
from tests.support.scripted_table import READING, REVISION
from tests.support.stillset_program import StillsetHome, children
from tests.support.written_log import written_log
from tui.commands.check_command import _pictures, check
from tui.commands.command_line import stillset

REGION = "420,280,240,160"
LIGHT = photograph("coffee.png", (900, 600))


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(stillset, ["check", *(str(argument) for argument in arguments)])


def told(result: Result) -> dict[str, dict[str, Any]]:
    """Name of the file → its object."""
    return {Path(found["path"]).name: found for found in map(json.loads, result.stdout.splitlines())}


def saved(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A reference and what became of it later."""
    folder = tmp_path_factory.mktemp("shelf")
    for name, light in {
        "reference.jpg": LIGHT,
        "same.jpg": LIGHT,
        "blurred.jpg": blurred(LIGHT, 6.0),
        "dark.jpg": relit(LIGHT, -1.0),
        "shadow.jpg": shadowed(LIGHT, "bottom", 0.2, 4.0),
    }.items():
        saved(folder, name, jpeg_bytes(coded(light, seed=len(name))))
    return folder


@pytest.fixture(scope="module")
def results(shelf: Path) -> dict[str, dict[str, Any]]:
    done = run(shelf, "--reference", shelf / "reference.jpg", "--region", REGION, "--jobs", "2", "--json")
    assert done.exit_code == 1
    assert done.stderr == "3 of 5 files need a look.\n"
    return told(done)


def ids(found: dict[str, Any]) -> set[str]:
    return {finding["id"] for finding in found["findings"] if finding["level"] != "note"}


def test_every_file_of_a_folder_is_one_object_on_a_line(results: dict[str, dict[str, Any]]) -> None:
    assert set(results) == {"reference.jpg", "same.jpg", "blurred.jpg", "dark.jpg", "shadow.jpg"}
    for found in results.values():
        measured = {"focus", "band", "drift", "exposure", "evenness", "colour", "tilt"}
        assert set(found) == {"path", "findings", *measured}
        assert {"verdict", "blur_px", "blur_px_sd", "scale"} <= set(found["focus"])
        assert {"present", "side", "share"} <= set(found["band"])


def test_frame_like_the_reference_is_sharp_with_its_measurements(results: dict[str, dict[str, Any]]) -> None:
    found = results["same.jpg"]
    assert found["findings"] == []
    assert found["focus"]["verdict"] == "sharp"
    assert found["exposure"]["region_ev"] == pytest.approx(0, abs=0.05)
    drift = found["drift"]
    assert (drift["right_px"], drift["down_px"], drift["rotation_deg"]) == pytest.approx((0, 0, 0), abs=0.2)
    assert drift["scale"] == pytest.approx(1, abs=0.002)
    assert found["band"]["present"] is False


def test_disc_of_six_pixels_is_told_with_its_radius(results: dict[str, dict[str, Any]]) -> None:
    focus = results["blurred.jpg"]["focus"]
    assert focus["verdict"] == "missed"
    assert focus["blur_px"] == pytest.approx(6.0, rel=0.15)
    assert focus["blur_px_sd"] > 0


def test_stop_less_of_light_is_told_in_ev(results: dict[str, dict[str, Any]]) -> None:
    assert results["dark.jpg"]["exposure"]["region_ev"] == pytest.approx(-1.0, abs=0.05)
    assert ids(results["dark.jpg"]) == {"exposure"}


def test_shadow_is_told_with_side_and_share(results: dict[str, dict[str, Any]]) -> None:
    band = results["shadow.jpg"]["band"]
    assert (band["present"], band["side"]) == (True, "bottom")
    assert band["share"] == pytest.approx(0.2, abs=0.01)


def test_all_well_is_exit_code_0_and_said_for_people_in_a_line_a_file(shelf: Path) -> None:
    done = run(shelf / "same.jpg", "--reference", shelf / "reference.jpg", "--region", REGION)
    assert done.exit_code == 0
    assert done.stderr == ""
    assert done.stdout.startswith(f"● {shelf / 'same.jpg'}  sharp, blur radius ")
    assert len(done.stdout.splitlines()) == 1


def test_limit_that_is_given_decides(shelf: Path, results: dict[str, dict[str, Any]]) -> None:
    files = (shelf / "blurred.jpg", "--reference", shelf / "reference.jpg", "--region", REGION)
    assert results["blurred.jpg"]["focus"]["verdict"] == "missed"
    done = run(*files, "--blur-limit-px", "12")
    assert (done.exit_code, "sharp" in done.stdout) == (0, True)


def test_without_a_reference_focus_is_not_judged_and_that_is_no_fault(shelf: Path) -> None:
    done = run(shelf / "same.jpg", "--json")
    assert done.exit_code == 0
    assert told(done)["same.jpg"]["focus"]["verdict"] == "unjudged"
    assert told(done)["same.jpg"]["drift"] is None
    assert run(shelf / "same.jpg").stdout.startswith(f"? {shelf / 'same.jpg'}  focus ?")


@pytest.mark.parametrize("region", ["1,2,3", "a,b,c,d", "1,2,0,5", "-1,2,3,4", "1.5,2,3,4"])
def test_region_that_is_none_is_wrong_use(shelf: Path, region: str) -> None:
    assert run(shelf / "same.jpg", "--region", region).exit_code == 2


def test_region_outside_a_picture_is_told_of_that_picture(shelf: Path) -> None:
    done = run(shelf / "same.jpg", "--region", "800,500,200,200", "--json")
    assert done.exit_code == 1
    found = told(done)["same.jpg"]["findings"]
    assert [finding["id"] for finding in found] == ["region"]
    assert "900 × 600" in found[0]["text"]


# --- folders --------------------------------------------------------------------------------------


def test_folder_gives_pictures_by_name_or_beginning_and_nothing_hidden(tmp_path: Path) -> None:
    good = jpeg_bytes(coded(LIGHT))
    for name in ("b.jpg", "a.JPG", "no-suffix", "sub/c.jpg"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        saved(tmp_path, name, good)
    saved(tmp_path, "cut.jpg", b"")
    for name in ("notes.txt", "shoot.db", ".hidden.jpg"):
        saved(tmp_path, name, b"no picture")
    found = told(run(tmp_path, tmp_path / "b.jpg", "--json"))
    assert set(found) == {"b.jpg", "a.JPG", "no-suffix", "c.jpg", "cut.jpg"}


def test_folder_without_pictures_is_wrong_use(tmp_path: Path) -> None:
    assert run(tmp_path).exit_code == 2
    assert run().exit_code == 2


# --- files that are none --------------------------------------------------------------------------


def jpeg_of_size(width: int, height: int) -> bytes:
    """A whole JPEG whose frame header says another size (ITU-T T.81 B.2.2)."""
    data = bytearray(jpeg_bytes(np.zeros((16, 16), np.uint8)))
    at = data.index(b"\xff\xc0")
    data[at + 5 : at + 9] = struct.pack(">HH", height, width)
    return bytes(data)


def png_of_size(width: int, height: int) -> bytes:
    """A PNG header and nothing behind it (PNG, 3rd edition, 11.2.1)."""
    head = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head))


def as_mode(mode: str, form: str) -> bytes:
    out = io.BytesIO()
    Image.fromarray(coded(LIGHT)).convert("RGB").convert(mode).save(out, form)
    return out.getvalue()


def sixteen_bit() -> bytes:
    out = io.BytesIO()
    Image.fromarray(coded(LIGHT).astype(np.uint16) * 257).save(out, "PNG")
    return out.getvalue()


def turned(orientation: int) -> bytes:
    """Stored turned, with the Exif value that turns it back (CIPA DC-008, tag 0112: 6 is a quarter clockwise)."""
    exif = Image.Exif()
    exif[0x112] = orientation
    stored = {6: np.rot90(coded(LIGHT)), 3: np.rot90(coded(LIGHT), 2)}[orientation]
    return jpeg_bytes(stored, exif=exif.tobytes())


def wrong_exif() -> bytes:
    """An Exif segment of noise, of the length that it says."""
    good = jpeg_bytes(coded(LIGHT))
    noise = b"Exif\0\0II*\0" + np.random.default_rng(4).bytes(500)
    return good[:2] + b"\xff\xe1" + struct.pack(">H", len(noise) + 2) + noise + good[2:]


GOOD = jpeg_bytes(coded(LIGHT))
UNREADABLE: dict[str, Callable[[], bytes]] = {
    "empty.jpg": lambda: b"",
    "two-bytes.jpg": lambda: GOOD[:2],
    "header-only.jpg": lambda: GOOD[:300],
    "one-pixel.jpg": lambda: jpeg_bytes(np.zeros((1, 1), np.uint8)),
    "huge-header.jpg": lambda: jpeg_of_size(30000, 30000),
    "huge-header.png": lambda: png_of_size(30000, 30000),
    "strip.jpg": lambda: jpeg_of_size(65000, 200),
    "noise.jpg": lambda: np.random.default_rng(1).bytes(5000),
    "text.jpg": lambda: b"\x1b[2J not a picture\n" * 20,
}
CUT = {"cut.jpg": lambda: GOOD[: len(GOOD) // 2]}
GOOD_OF_ALL_KINDS: dict[str, Callable[[], bytes]] = {
    "cmyk.jpg": lambda: as_mode("CMYK", "JPEG"),
    "sixteen-bit.png": sixteen_bit,
    "grey.png": lambda: as_mode("L", "PNG"),
    "palette.png": lambda: as_mode("P", "PNG"),
    "plain.tif": lambda: as_mode("RGB", "TIFF"),
    "progressive.jpg": lambda: jpeg_bytes(coded(LIGHT), progressive=True),
    "wrong-exif.jpg": wrong_exif,
    "quarter-turn.jpg": lambda: turned(6),
    "half-turn.jpg": lambda: turned(3),
}
EVERY_KIND = UNREADABLE | CUT | GOOD_OF_ALL_KINDS


@pytest.fixture(scope="module")
def strange(tmp_path_factory: pytest.TempPathFactory, shelf: Path) -> dict[str, dict[str, Any]]:
    """All of them in one go, with what lies in folders beside pictures."""
    folder = tmp_path_factory.mktemp("strange")
    for name, make in EVERY_KIND.items():
        saved(folder, name, make())
    os.mkfifo(folder / "pipe.jpg")
    (folder / "dangling.jpg").symlink_to("nowhere.jpg")
    os.truncate(saved(folder, "endless.jpg", GOOD[:100]), 10**12)
    extra = [folder / "pipe.jpg", folder / "dangling.jpg", folder / "gone.jpg", Path("/dev/zero")]
    done = run(folder, *extra, "--reference", shelf / "reference.jpg", "--region", REGION, "--json")
    assert done.exit_code == 1
    assert "Traceback" not in done.stderr
    return told(done)


def test_every_strange_file_is_answered(strange: dict[str, dict[str, Any]]) -> None:
    assert set(strange) == {*EVERY_KIND, "pipe.jpg", "dangling.jpg", "gone.jpg", "zero", "endless.jpg"}


@pytest.mark.parametrize("name", [*UNREADABLE, "pipe.jpg", "dangling.jpg", "gone.jpg", "zero", "endless.jpg"])
def test_file_that_gives_no_picture_says_why(strange: dict[str, dict[str, Any]], name: str) -> None:
    found = strange[name]
    assert ids(found) == {"file"}
    assert found["focus"]["verdict"] == "unjudged"
    assert (found["band"], found["drift"], found["exposure"]) == (None, None, None)


def test_file_that_is_cut_short_is_told_and_what_is_left_is_not_called_missed(
    strange: dict[str, dict[str, Any]],
) -> None:
    assert "file" in ids(strange["cut.jpg"])
    assert strange["cut.jpg"]["focus"]["verdict"] == "unjudged"


@pytest.mark.parametrize("name", GOOD_OF_ALL_KINDS)
def test_picture_of_any_coding_and_turn_is_found_like_the_reference(
    strange: dict[str, dict[str, Any]], name: str
) -> None:
    found = strange[name]
    assert "focus" not in ids(found)
    assert "file" not in ids(found)
    assert found["exposure"] is not None


def test_name_with_escape_sequences_is_shown_not_obeyed(tmp_path: Path) -> None:
    saved(tmp_path, "a\x1b[2Jb\udcff.jpg", b"")
    done = run(tmp_path)
    assert "\x1b" not in done.stdout
    assert "a␛[2Jb" in done.stdout


# --- as frames of a set-up ------------------------------------------------------------------------


def test_set_up_of_a_log_lends_its_reference_its_limit_and_its_settings(tmp_path: Path) -> None:
    first = saved(tmp_path, "1.jpg", GOOD)
    log = written_log(tmp_path / "log.db", REVISION, READING, [FocusVerdict.SHARP], first)
    log.log.set_reference(log.place, REVISION.setup_number, log.frame_ids[1])
    log.close()
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x829A] = IFDRational(1, 60)  # ExposureTime
    slow = saved(tmp_path, "slow.jpg", jpeg_bytes(coded(LIGHT, seed=3), exif=exif.tobytes()))
    done = run(slow, "--setup", "7", "--log", tmp_path / "log.db", "--json")
    found = told(done)["slow.jpg"]
    assert found["focus"]["verdict"] == "sharp"
    assert ids(found) == {"settings"}
    assert "1/60 s, asked was 1/200 s" in found["findings"][0]["text"]
    assert run(slow, "--setup", "9", "--log", tmp_path / "log.db").exit_code == 2
    assert run(slow, "--setup", "7", "--log", tmp_path / "none.db").exit_code == 1
    previews = tmp_path / "log.db.previews"
    previews.mkdir()
    keep_preview(previews, log.frame_ids[1], gather(str(first)).overview.pixels, (900, 600))
    first.unlink()
    found = told(run(slow, "--setup", "7", "--log", tmp_path / "log.db", "--json"))["slow.jpg"]
    assert found["focus"]["reason"] == "of the reference only the stored preview is there"


def test_files_are_judged_by_what_the_client_agreed_for_the_view(tmp_path: Path) -> None:
    first = saved(tmp_path, "1.jpg", GOOD)
    path = tmp_path / "log.db"
    log = written_log(path, REVISION, READING, [FocusVerdict.SHARP], first)
    log.log.set_reference(log.place, REVISION.setup_number, log.frame_ids[1])
    white = Standard("catalogue-white", background_ev=2.0)
    piece = OrderedPiece(log.place.piece, views=(log.place.view,), standards=((log.place.view, white.name),))
    log.log.keep_order(Order(log.place.job, pieces=(piece,), standards=(white,)))
    log.close()
    of_view = ("--setup", "7", "--view", log.place.view.upper())
    for asked in (("--setup", "7"), of_view, ("--standard", "CATALOGUE-white")):
        (found,) = told(run(first, *asked, "--log", path, "--json")).values()
        assert any(finding["text"].startswith("Standard catalogue-white") for finding in found["findings"]), asked
    for wrong, said in (
        (("--standard", "catalogue-black"), "it has catalogue-white"),
        (("--setup", "7", "--view", "back"), "has no view 'back'"),
        (("--view", "front"), "--view wants --setup"),
    ):
        done = run(first, *wrong, "--log", path)
        assert done.exit_code == 2 and said in done.output


def test_a_view_of_a_set_up_without_a_reference_wants_the_piece(tmp_path: Path) -> None:
    first = saved(tmp_path, "1.jpg", GOOD)
    log = written_log(tmp_path / "log.db", REVISION, READING, [FocusVerdict.SHARP], first)
    log.close()
    asked = ("--setup", "7", "--view", log.place.view, "--log", tmp_path / "log.db")
    done = run(first, *asked)
    assert done.exit_code == 2 and "say by --piece whose view 'three-quarter' is meant" in " ".join(done.output.split())
    assert "say by --piece" not in run(first, *asked, "--piece", log.place.piece).output


# --- stopping -------------------------------------------------------------------------------------


def test_ctrl_c_ends_with_the_results_so_far_and_leaves_no_process(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    (tmp_path / "many").mkdir()
    saved(tmp_path / "many", "0000.jpg", GOOD)
    for number in range(1, 1000):
        os.link(tmp_path / "many/0000.jpg", tmp_path / f"many/{number:04d}.jpg")
    with home.start(
        "check", str(tmp_path / "many"), "--reference", str(tmp_path / "many/0000.jpg"), "--json"
    ) as program:
        program.until('"path"')
        judges = children(program.pid, "session.checks.judge.judge_process")
        program.interrupt()
        ended = program.ended()
    assert ended.code == 1
    count = int(ended.sentence().removeprefix("Stopped: ").split(" of 1000 files")[0])
    assert 1 <= len(ended.json_lines()) < 1000
    assert count == pytest.approx(len(ended.json_lines()), abs=1)  # a result may be just being printed
    assert judges
    assert all(not Path(f"/proc/{pid}").exists() for pid in judges)


def test_help_tells_the_exit_codes() -> None:
    assert check.help is not None
    assert "Exit code 0" in check.help


def test_folder_given_by_a_link_is_looked_through_folder_by_folder_and_no_link_below_it(tmp_path: Path) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    for folder in (real, real / "a", real / "b"):
        folder.mkdir()
        (folder / "picture.jpg").write_bytes(b"\xff\xd8\xff")
    link.symlink_to(real)
    (real / "a" / "round").symlink_to(real)  # for ever, if it were followed
    found = _pictures(link)
    assert next(found) == link / "picture.jpg"
    (real / "b" / "later.jpg").write_bytes(b"\xff\xd8\xff")  # not looked into yet
    assert list(found) == [link / "a" / "picture.jpg", link / "b" / "later.jpg", link / "b" / "picture.jpg"]


def test_ctrl_c_while_folders_are_looked_through_says_how_far_it_came(shelf: Path) -> None:
    def interrupted(path: Path) -> bool:
        if path.name == "same.jpg":
            raise KeyboardInterrupt
        return True

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("tui.commands.check_command._looks_like_a_picture", interrupted)
        done = run(shelf)
    assert done.exit_code == 1
    assert done.stderr.startswith("Stopped: ") and done.stderr.endswith(
        "pictures were found, none of them was judged.\n"
    )
