"""The rule about the kit: whose sync time and sensor count when the camera that is connected isn't in it."""

from __future__ import annotations

import pytest
from session.rules.kit_rules import camera_in_kit

from session.frame.finding import Level, RemedyKind, RuleId
from session.rules.situation import Situation
from session.set.kit import Body, Kit
from session.set.setup import Revision


def body(name: str, serial: str = "") -> Body:
    return Body(
        name=name, sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000, sync_time_s=1 / 160,
        serial=serial,
    )  # fmt: skip


OURS = Kit(body=(body("Wendle 16", "W-1"), body("Longmere 9")))


@pytest.mark.parametrize(
    ("serial", "model"),
    [("W-1", "something else"), ("", "Wendle 16"), ("X", "wendle 16"), ("", "")],
    ids=["by its serial number", "by its model", "whatever case", "no camera yet"],
)
def test_a_camera_of_the_kit_and_none_at_all_pass(serial: str, model: str) -> None:
    assert camera_in_kit(Situation(Revision(), OURS, camera_serial=serial, camera_model=model)) == ()


def test_a_strangers_camera_is_told_with_the_sync_time_that_counts_instead() -> None:
    (finding,) = camera_in_kit(Situation(Revision(), OURS, camera_serial="X-9", camera_model="Harrow 3"))
    assert (finding.id, finding.level) == (RuleId.KIT, Level.CAUTION)
    assert finding.text == "Harrow 3 isn't in the kit: sync time 1/160 s and sensor are those of Wendle 16."
    assert finding.remedy is not None and finding.remedy.kind is RemedyKind.BY_HAND


def test_a_kit_that_nobody_owns_says_that_it_is_invented() -> None:
    invented = OURS.model_copy(update={"invented": True})
    (finding,) = camera_in_kit(Situation(Revision(), invented, camera_model="Harrow 3"))
    assert finding.text.endswith("those of Wendle 16, which is invented.")


def test_a_kit_without_a_body_says_that_no_rule_looks_at_sync_and_sensor() -> None:
    (finding,) = camera_in_kit(Situation(Revision(), Kit(), camera_model="Harrow 3"))
    said = "The kit has no body, so Harrow 3's sync time and sensor aren't known: no rule looks at them."
    assert finding.text == said


def test_a_body_that_a_person_chose_is_believed() -> None:
    chosen = Situation(Revision(body="Longmere 9"), OURS, camera_model="Harrow 3")
    assert camera_in_kit(chosen) == () and chosen.body is OURS.body[1]
    (finding,) = camera_in_kit(Situation(Revision(body="sold last year"), OURS, camera_model="Harrow 3"))
    assert finding.level is Level.CAUTION
