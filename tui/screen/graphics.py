"""A still at full resolution in terminals that show graphics: Sixel, or the Kitty protocol, by textual-image.

The screen steps aside for it: the terminal is asked what it can, and the answer must not be taken for keys.
"""

from __future__ import annotations

import os
import select
import shutil
import sys
import termios
from collections.abc import Iterator
from contextlib import contextmanager

from PIL import Image

from tui.screen.small_picture import SmallPicture

LONGEST_LOOK_S = 120.0
"""Then the bench comes back by itself; somebody may have walked away. Chosen."""

LOCAL_MODES = 3
"""Where `tcgetattr` keeps them (POSIX c_lflag)."""

NO_EXTRA = "A still at full resolution needs the extra `graphics`; the README says how."
NO_GRAPHICS = "This terminal shows no graphics, so there is no still at full resolution; [+] enlarges in live view."
BACK = "Any key goes back to the bench."


def show_still(picture: SmallPicture) -> str:
    """Show a picture until a key is pressed. Returns "", or why it can't be shown. Only while no screen is up."""
    try:
        from textual_image import renderable  # noqa: PLC0415 - the extra `graphics`; asks the terminal when imported
    except ImportError:
        return NO_EXTRA
    if renderable.Image not in (renderable.SixelImage, renderable.TGPImage):
        return NO_GRAPHICS
    from rich.console import Console  # noqa: PLC0415 - only here

    columns, rows = shutil.get_terminal_size()
    console = Console(file=sys.__stdout__, force_terminal=True, color_system="truecolor", width=columns, height=rows)
    console.clear()
    image = Image.fromarray(picture.pixels)
    wide = image.width * (rows - 2) * 2 >= image.height * columns  # a cell is taken to be twice as high as wide
    console.print(renderable.Image(image, width=columns if wide else "auto", height="auto" if wide else rows - 2))
    with _keys_at_once() as terminal:  # before it is said that any key goes back, so that none is lost
        console.print(f"{picture.full_width_px} × {picture.full_height_px} px. {BACK}", markup=False, highlight=False)
        if select.select([terminal], [], [], LONGEST_LOOK_S)[0]:
            os.read(terminal, 64)
    console.clear()
    return ""


@contextmanager
def _keys_at_once() -> Iterator[int]:
    """Have the terminal hand over each key at once and unechoed, Ctrl-C as well; yields the terminal's descriptor."""
    descriptor = sys.__stdin__.fileno() if sys.__stdin__ else 0
    before = termios.tcgetattr(descriptor)
    mode = termios.tcgetattr(descriptor)
    mode[LOCAL_MODES] &= ~(termios.ECHO | termios.ICANON | termios.ISIG)
    termios.tcsetattr(descriptor, termios.TCSANOW, mode)
    try:
        yield descriptor
    finally:
        termios.tcsetattr(descriptor, termios.TCSADRAIN, before)
