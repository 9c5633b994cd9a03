"""Which extension plays a body, by the number in its summary."""

from collections.abc import Callable
from pathlib import Path

from mock_camera.body.camera_body import CameraBody
from mock_camera.played.extension import Extension
from mock_camera.played.extension_0a import Extension0A
from mock_camera.played.extension_0b import Extension0B
from mock_camera.played.extension_0e import Extension0E
from mock_camera.played.extension_11 import Extension11
from mock_camera.ptp.summary import SummaryError, parse_summary

PLAYED: dict[int, type[Extension]] = {0x0A: Extension0A, 0x0B: Extension0B, 0x0E: Extension0E, 0x11: Extension11}
"""All other numbers are played as a body without an extension."""


def body_of(path: Path, makes: str = "") -> Callable[[CameraBody], Extension]:
    """A maker of the body of which the file is a summary. Raises SummaryError, with a sentence.

    makes  the files of a release, "" as the body's format says
    """
    try:
        text = path.read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        raise SummaryError(f"{path} can't be read: {error.strerror}.") from error
    summary = parse_summary(text)
    kind = PLAYED.get(summary.extension, Extension)
    return lambda body: kind(summary, body, makes)
