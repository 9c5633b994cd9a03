"""Folders of ours in places where others may write."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from session.system.own_files import folder_of_ours, own_folder


@pytest.mark.parametrize(("mode", "refused"), [(0o700, False), (0o1777, False), (0o777, True), (0o770, True)])
def test_folder_is_ours_only_where_nobody_else_can_put_another_in_its_place(
    tmp_path: Path, mode: int, refused: bool
) -> None:
    """The sticky bit keeps names in a folder for those whose they are (inode(7))."""
    place = tmp_path / "temporary"
    place.mkdir()
    place.chmod(mode)
    if refused:
        with pytest.raises(PermissionError, match="other users may change the names"):
            own_folder(place / "ours")
        assert not (place / "ours").exists()
    else:
        assert stat.S_IMODE(own_folder(place / "ours").stat().st_mode) == 0o700
        own_folder(place / "ours")


def test_a_folder_of_files_with_a_hash_may_lie_where_a_group_may_write_but_is_no_link_and_no_file(
    tmp_path: Path,
) -> None:
    """As a home's folders are where each user has a group of their own and the mask is 002."""
    place = tmp_path / "shared"
    place.mkdir()
    place.chmod(0o775)
    assert stat.S_IMODE(folder_of_ours(place / "ours").stat().st_mode) == 0o700
    (place / "ours").chmod(0o775)
    folder_of_ours(place / "ours")
    (place / "link").symlink_to(tmp_path)
    (place / "file").write_text("x")
    for name, why in (("link", "it is a link"), ("file", "it is not a folder")):
        with pytest.raises(PermissionError, match=why):
            folder_of_ours(place / name)
