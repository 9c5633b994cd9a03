"""A reshoot on a played body that offers no live view, through the real libgphoto2: frames alone tell what is left.

The hands do what the words say, and the simulated table's own truth says where the camera and the light then stand.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from session.frame import camera_messages as say
from session.match.match_steps import MatchStep, StepState, match_steps
from session.match.set_measure import LitPictures, measure_set
from session.set.setup import Arrangement, PlacedLight, Revision
from tests.support.camera_user import CameraUser
from tests.support.mock_process import MockCamera
from tests.support.reshoot_table import SENSOR_MM

BODY = Path(__file__).parent.parent / "bodies" / "no_extension.txt"
KEY = PlacedLight("key", -4.0, 450.0, 50.0, 40.0)
SET = Revision(arrangement=Arrangement(focal_length_mm=100.0, magnification=0.5), lights=(KEY,))


def test_a_set_is_built_again_by_frames_alone(tmp_path: Path) -> None:
    with (
        MockCamera("--body", str(BODY), "--pixels", "512x342", "--seed", "17") as mock,
        CameraUser(tmp_path) as user,
    ):
        mock.hands("arrangement", magnification=0.5, focal_length_mm=100.0)
        place = {"distance_mm": 450.0, "azimuth_deg": 50.0, "elevation_deg": 40.0}
        power_ev = mock.hands("light", name="key", recycling_time_s=0.01, **place)["power_ev"]
        user.connect(mock.address)
        user.camera.post(say.LiveView(True))
        assert user.until(say.Failed).fault is say.Fault.NOT_OFFERED

        def shoot() -> LitPictures:
            (file,) = user.take(1)
            return LitPictures(file.path)

        def steps() -> dict[str, MatchStep]:
            return {one.key: one for one in match_steps(SET, measure_set(SET, SENSOR_MM, then, shoot()))}

        then = shoot()
        mock.hands("move_camera", right_mm=-0.8, down_mm=0.5)
        mock.hands("light", name="key", power_ev=power_ev - 0.7)
        off = steps()
        assert {off[key].state for key in ("framing", "together")} == {StepState.OFF}
        right = re.match(r"camera ([\d.]+) mm right, ([\d.]+) mm up", off["framing"].to_do)
        more = re.match(r"key ([\d.]+) EV more", off["together"].to_do)
        assert right and more, off
        stands = mock.hands("move_camera", right_mm=float(right[1]), down_mm=-float(right[2]))
        powered = mock.hands("light", name="key", power_ev=power_ev - 0.7 + float(more[1]))
        again = steps()
        assert {again[key].state for key in ("framing", "together")} == {StepState.MATCHES}
    # a pixel of the tolerance is 0.047 mm before the piece
    assert (stands["right_mm"], stands["down_mm"]) == pytest.approx((0.0, 0.0), abs=0.047)
    assert powered["power_ev"] == pytest.approx(power_ev, abs=0.1), "what a flash is set to"
