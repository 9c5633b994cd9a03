"""The folders of the camera's process: settings that last, and a way out where the folder can't be written."""

import os
import stat
import tempfile
from pathlib import Path

import pytest

from session.cameras import home as home_module
from session.cameras.home import NO_CACHE, claims, environment, home, prepare


def settings_of(folder: Path) -> list[str]:
    return (folder / "gphoto" / "settings").read_text().splitlines()


def test_the_wanted_folder_is_made_with_its_parents(tmp_path: Path) -> None:
    wanted = tmp_path / "deep" / "er"
    assert home(wanted) == wanted
    assert settings_of(wanted) == [NO_CACHE]


def test_what_libgphoto2_keeps_there_stays_and_our_line_is_added_once(tmp_path: Path) -> None:
    prepare(tmp_path)
    with (tmp_path / "gphoto" / "settings").open("a") as file:
        file.write("ptp2_ip=guid=00:11:22\n")
    for _ in range(3):
        prepare(tmp_path)
    assert settings_of(tmp_path) == [NO_CACHE, "ptp2_ip=guid=00:11:22"]


def test_a_file_without_our_line_or_a_last_newline_gets_both(tmp_path: Path) -> None:
    settings = tmp_path / "gphoto" / "settings"
    settings.parent.mkdir()
    settings.write_text("gphoto2=model=any")
    prepare(tmp_path)
    assert settings.read_text() == f"gphoto2=model=any\n{NO_CACHE}\n"


def test_where_a_file_is_in_the_way_a_folder_of_this_users_own_is_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    (tmp_path / "file").write_text("")
    found = home(tmp_path / "file" / "cameras")
    assert found == tmp_path / f"stillset-{os.geteuid()}"
    assert stat.S_IMODE(found.stat().st_mode) == 0o700
    assert settings_of(found) == [NO_CACHE]


def test_a_temporary_folder_that_others_may_write_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    (tmp_path / "file").write_text("")
    shared = tmp_path / f"stillset-{os.geteuid()}"
    shared.mkdir()
    shared.chmod(0o777)
    with pytest.raises(OSError, match=r"stillset-"):
        home(tmp_path / "file" / "cameras")


def test_cameras_texts_come_in_one_language_and_settings_from_our_folder(tmp_path: Path) -> None:
    assert environment(tmp_path) == {"XDG_CONFIG_HOME": str(tmp_path), "LC_ALL": "C"}


def test_claims_lie_where_every_user_sees_them_else_in_our_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shared, own, gone = tmp_path / "shared", tmp_path / "own", tmp_path / "gone"
    shared.mkdir()
    own.mkdir()
    shared.chmod(0o1777)
    own.chmod(0o777)  # each may delete the others' notes there: no sticky bit
    monkeypatch.setattr(home_module, "SEEN_BY_ALL", (gone, own, shared))
    assert claims(tmp_path) == shared
    monkeypatch.setattr(home_module, "SEEN_BY_ALL", (gone, own))
    assert claims(tmp_path) == tmp_path / "claims"
