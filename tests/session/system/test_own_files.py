"""Folders of ours in places where others may write."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from session.system.own_files import own_folder


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
