"""The files on the camera's card, read folder by folder, newest first.

libgphoto2 asks the camera about each file of a folder inside one call: 50 to 133 ms a file in public reports, so that a
card of some hundred pictures takes minutes. Where files are told quickly, the card is read when the camera is
connected. Elsewhere nothing is read then: what is announced is remembered, and the newest folder is read when nobody
wants anything of the camera, or when a frame's files are looked for. Of files whose names are known from before, the
library can be had to ask for a few at a time (`approach`), so that a release goes first in between.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from time import monotonic

from session.cameras.libgphoto import Gphoto
from session.cameras.result_codes import CameraError
from session.frame.camera_messages import CardObject
from session.frame.card import folder_order, releases

QUICK_S = 0.025
"""A file that is told in less is told quickly: half of what public reports name for slow bodies."""
STEP_S = 0.2
"""So long a release may have to wait for a few files that are asked for. Chosen."""
AT_ONCE_S = 3.0
"""When so long was read, the folders that are left wait. Chosen."""

Progress = Callable[[int, int], None]
"""Hears, before each folder of a slow camera, how many are read and how many are to be."""


class CardList:
    """The known files of a connected camera's card. The constructor asks only for the names of the folders."""

    def __init__(self, camera: Gphoto) -> None:
        self._camera = camera
        self._files: dict[str, tuple[CardObject, ...]] = {}
        self._folders: tuple[str, ...] = ()
        self._ahead: list[CardObject] | None = None
        self._passed = 0
        self._file_s = QUICK_S
        self.is_quick = self._look_for_folders()
        self._camera.tells_files_slowly = not self.is_quick

    @property
    def objects(self) -> tuple[CardObject, ...]:
        """All that was read, in the order of the folders' names."""
        return tuple(card for folder in sorted(self._files) for card in self._files[folder])

    @property
    def folders(self) -> tuple[str, ...]:
        """All folders, as they were asked for last."""
        return self._folders

    @property
    def is_read(self) -> bool:
        """Whether the newest folders were read, or there is none."""
        return all(folder in self._files for folder in self._newest())

    def was_read(self, folder: str) -> bool:
        """Whether the folder's files are known."""
        return folder in self._files

    def read_at_once(self) -> None:
        """Read as much as goes quickly, newest first; nothing where files are told slowly."""
        began_s = monotonic()
        for folder in sorted(self._folders, key=folder_order, reverse=True) if self.is_quick else ():
            self._files[folder] = self._camera.files_in(folder)
            if monotonic() - began_s > AT_ONCE_S:
                return

    def read(self, since: str = "", progress: Progress = lambda done, of: None) -> tuple[CardObject, ...]:
        """Read anew the newest folder, or all from the one of this name on; all that is known then."""
        self._look_for_folders()
        newest = self._newest()
        old = [folder for folder in self._folders if since and folder not in newest and folder_order(folder) >= since]
        folders = sorted([*newest, *old], key=folder_order, reverse=True)
        for done, folder in enumerate(folders):
            if not self.is_quick and folder_order(folder):
                progress(done, sum(1 for one in folders if folder_order(one)))
            self._files[folder] = self._camera.files_in(folder)
        self._camera.tells_files_slowly = False  # until the camera is connected anew
        return self.objects

    def approach(self, known: Iterable[CardObject], progress: Callable[[int, int], None]) -> bool:
        """Ask for a few more files of the newest folders, up to one that is known; False when that leads no further.

        progress   hears how many of the known files are asked for, and how many there are
        """
        if self._ahead is None:
            newest = [folder for folder in self._newest() if folder not in self._files]
            self._ahead = [release[-1] for release in releases(card for card in known if card.folder in newest)]
            self._passed = 0
        if not self._ahead:
            return False
        count = min(max(1, int(STEP_S / self._file_s)), len(self._ahead))
        progress(self._passed, self._passed + len(self._ahead))
        began_s = monotonic()
        try:
            is_there = self._camera.looks_up(self._ahead[count - 1])
        except CameraError as error:
            if not error.connected:
                raise
            is_there = False
        self._file_s = max((monotonic() - began_s) / count, QUICK_S)
        self._passed += count
        self._ahead = self._ahead[count:] if is_there else []
        return bool(self._ahead)

    def forget(self) -> None:
        """The camera was connected anew: its answers may differ."""
        self._ahead = None
        self._camera.tells_files_slowly = not self.is_quick

    def _look_for_folders(self) -> bool:
        """Ask for the folders' names; whether one was told quickly, which the library's memory makes true later on."""
        began_s = monotonic()
        self._folders, took_s = self._camera.folders()
        return min(took_s, default=monotonic() - began_s) < QUICK_S

    def _newest(self) -> list[str]:
        """The folders where new pictures may come: each card's folder with the highest number, or without a number."""
        newest = max(map(folder_order, self._folders), default="")
        return [folder for folder in self._folders if folder_order(folder) in (newest, "")]
