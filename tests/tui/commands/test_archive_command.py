"""`stillset archive`, and an archive as the log of `log` and `reshoot`."""

from __future__ import annotations

import json
import re
import shutil
from contextlib import closing
from pathlib import Path

import pytest

from storage.files.paths import previews_folder
from storage.reading.log_reader import LogReader
from tests.support.in_process import stillset
from tests.support.postgres_server import PASSWORDS, Server
from tests.support.reshot_log import keep_only_preview, reshot_log


def run(*arguments: str, exit_code: int = 0) -> str:
    told = stillset(*arguments, exit_code=exit_code)
    assert not any(secret in told for secret in PASSWORDS.values())
    return told


def test_what_one_table_shot_another_reshoots(one: Path, tmp_path: Path, archive: str, for_looking: str) -> None:
    assert "Sent: 1 jobs" in run("archive", "send", archive, "--log", str(one), "--station", "table 1")
    status = json.loads(run("archive", "status", for_looking, "--log", str(one), "--json"))
    assert (status["jobs"], status["frames_to_send"], status["stations"][0]["name"]) == (1, 0, "table 1")

    frames = run("log", "--log", for_looking, "frames", "--text", "tube bri", "--newest", "2")
    assert frames == run("log", "--log", str(one), "frames", "--text", "tube bri", "--newest", "2")
    assert len(frames.splitlines()) == 2
    listed = run("reshoot", "07.3", "--job", "movement", "--list", "--log", for_looking)
    assert listed == run("reshoot", "07.3", "--job", "movement", "--list", "--log", str(one))
    assert "light key: 1/4 (−2 EV) with tube" in listed and "Its reference is frame" in listed

    empty = tmp_path / "another table.sqlite"
    run("archive", "fetch", for_looking, "--log", str(empty), "--job", "Movement")
    assert run("reshoot", "07.3", "--job", "movement", "--list", "--log", str(empty)) == listed


def test_a_reshoot_is_measured_at_another_station_by_stored_previews_alone(
    tmp_path: Path, archive: str, for_looking: str
) -> None:
    """No original is left anywhere: the key's 0.7 EV and the camera's 0.8 mm are told by previews from the archive."""
    log, shot = reshot_log(tmp_path, solo=True)
    with closing(LogReader.open(log)) as reader:
        for number, picture in enumerate(shot, 1):
            record = reader.frame_numbered("Movement", number)
            assert record is not None
            keep_only_preview(log, record.frame_id, picture)
    run("archive", "send", archive, "--log", str(log), "--station", "table 1", "--previews")
    empty = tmp_path / "elsewhere" / "another table.sqlite"
    empty.parent.mkdir()
    run("archive", "fetch", for_looking, "--log", str(empty), "--job", "Movement", "--previews")
    there = {path.name for path in previews_folder(empty).iterdir()}
    assert len(there) == 3, "reference, and the solos of then and of now"
    for path in previews_folder(log).iterdir():  # frame 2, of now, was shot at this station
        if path.name not in there:
            shutil.copy(path, previews_folder(empty))
    told = json.loads(run("reshoot", "07.3", "--job", "movement", "--list", "--json", "--log", str(empty)))
    steps = {step["key"]: step for step in told["steps"]}
    assert (told["reference"], told["frame"]) == (1, 2)
    right_mm = re.match(r"camera ([\d.]+) mm right", steps["framing"]["to_do"])
    assert right_mm and float(right_mm[1]) == pytest.approx(0.8, abs=0.1), steps["framing"]
    assert steps["light key"]["to_do"].startswith("key 0.7 EV more") and steps["light key"]["frame"] == 4
    assert steps["focus"]["state"] == "can't tell"


def test_troubles_are_one_sentence_without_the_password(one: Path, server: Server, archive: str) -> None:
    secret = PASSWORDS["station"]
    address = archive.replace("station@", f"station:{secret}@")
    for arguments in (["archive", "send", address, "--log", str(one)], ["log", "--log", address, "frames"]):
        told = run(*arguments, exit_code=1)
        assert "PGPASSFILE" in told and len(told.splitlines()) == 1
    nobody = archive.replace(f":{server.port}/", ":1/")
    assert "can't be reached" in run("archive", "status", nobody, exit_code=1)


@pytest.mark.parametrize("arguments", [["setup", "set"], ["log", "undo"]])
def test_archive_is_never_written_as_a_log(one: Path, archive: str, arguments: list[str]) -> None:
    run("archive", "send", archive, "--log", str(one))
    assert "for looking only" in run(*arguments, "--log", archive, "--job", "movement", exit_code=1)
