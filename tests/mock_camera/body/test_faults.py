"""Each scripted mishap, as the real libgphoto2 shows it. Error codes are those of gphoto2-port-result.h
and gphoto2-result.h: -1 unspecified, -2 bad parameters, -10 time-out, -110 camera busy."""

import hashlib
import time
from io import BytesIO

import pytest
from PIL import Image

from mock_camera.body.faults import FAULTS, FaultScript
from mock_camera.ptp.codes import Response
from tests.support.camera_bench import CameraBench
from tests.support.gphoto_host import GphotoError, GphotoHost


def error_code(host: GphotoHost, name: str, *arguments: object) -> int:
    with pytest.raises(GphotoError) as refused:
        host.call(name, *arguments)
    return refused.value.code


def released(host: GphotoHost) -> str:
    """Path of the one file of a release."""
    host.call("trigger")
    (announced,) = host.files_of_release()
    return announced


def test_cable_cut_in_a_transfer_loses_the_connection_but_not_the_file(bench: CameraBench) -> None:
    host = bench.host(bench.start("cable_cut:after_bytes=3000"))
    announced = released(host)
    assert error_code(host, "fetch", announced) == -1
    assert error_code(host, "events", 0.5, "") == -1
    host.call("again")
    on_card = bench.card_file(announced).read_bytes()
    assert host.call("fetch", announced)["sha256"] == hashlib.sha256(on_card).hexdigest()


def test_cable_cut_after_the_exposure_leaves_the_frame_on_the_card_unannounced(bench: CameraBench) -> None:
    camera = bench.start("cable_cut:when=exposure")
    host = bench.host(camera)
    host.call("trigger")
    assert error_code(host, "events", 5.0, "complete") == -1
    assert camera.capture.wait_until_written()
    host.call("again")
    (listed,) = host.call("files")
    assert listed.endswith("STIL0001.JPG")


def test_cable_cut_before_the_answer_to_a_release_fires_nothing(bench: CameraBench) -> None:
    camera = bench.start("cable_cut:when=InitiateCapture")
    host = bench.host(camera)
    assert error_code(host, "trigger") == -1
    assert camera.capture.releases == 0


def test_cable_comes_back_only_after_its_time(bench: CameraBench) -> None:
    camera = bench.start("cable_cut:when=InitiateCapture,reconnect_after_s=3600")
    host = bench.host(camera)
    assert error_code(host, "trigger") == -1
    assert error_code(host, "again") == -1
    camera.wire.cut(0.0)
    host.call("again")


def test_host_killed_in_a_transfer_leaves_the_camera_free_for_the_next(bench: CameraBench) -> None:
    camera = bench.start(bytes_per_s=20_000.0)  # the 15 kB file takes most of a second
    host = bench.host(camera)
    announced = released(host)
    host.ask("fetch", announced)
    host.kill()
    fetched = bench.host(camera).call("fetch", announced)
    assert fetched["sha256"] == hashlib.sha256(bench.card_file(announced).read_bytes()).hexdigest()


def test_stalled_transfer_times_out_and_the_camera_takes_a_new_connection(bench: CameraBench) -> None:
    host = bench.host(bench.start("stall"))
    announced = released(host)
    assert error_code(host, "fetch", announced) == -10
    host.call("again")
    assert host.call("fetch", announced)["bytes"] == bench.card_file(announced).stat().st_size


def test_short_stall_only_delays_the_answer(bench: CameraBench) -> None:
    host = bench.host(bench.start("stall:operation=InitiateCapture,seconds=0.3"))
    started_s = time.monotonic()
    released(host)
    assert time.monotonic() - started_s >= 0.3


def test_busy_camera_says_so_as_often_as_told(bench: CameraBench) -> None:
    host = bench.host(bench.start("busy:times=2"))
    assert [error_code(host, "trigger") for _ in range(2)] == [-110, -110]
    released(host)


def test_camera_is_busy_while_the_shutter_is_open(bench: CameraBench) -> None:
    camera = bench.start(shutter_lag_s=3600.0)
    host = bench.host(camera)
    host.call("trigger")
    assert error_code(host, "trigger") == -110
    assert error_code(host, "set", "iso", "200") == -2
    assert camera.capture.releases == 1


def test_busy_live_view_gives_an_empty_picture_without_an_error(bench: CameraBench) -> None:
    host = bench.host(bench.start("busy:operation=GetLiveViewImage,times=20"))
    assert host.call("preview")["bytes"] == 0
    assert host.call("preview")["start"] == "ffd8"


def test_release_without_a_file_completes_and_announces_nothing(bench: CameraBench) -> None:
    host = bench.host(bench.start("no_file"))
    host.call("trigger")
    assert [kind for kind, _ in host.call("events", 5.0, "complete")] == ["complete"]
    assert host.call("files") == []


@pytest.mark.parametrize("holds", ["copy", "another"])
def test_second_card_has_the_file_under_its_name_once_more_or_another(bench: CameraBench, holds: str) -> None:
    host = bench.host(bench.start(f"second_card:holds={holds}"))
    host.call("trigger")
    announced = host.files_of_release()
    name = "DCIM/100STILL/STIL0001.JPG"
    assert sorted(announced) == [f"/store_00010001/{name}", f"/store_00020001/{name}"]
    first, second = (host.call("fetch", path)["sha256"] for path in sorted(announced))
    assert (first == second) == (holds == "copy")
    host.call("again")
    assert sorted(host.call("files")) == sorted(announced)


def test_file_announced_twice_comes_twice_under_one_name(bench: CameraBench) -> None:
    host = bench.host(bench.start("announced_twice"))
    host.call("trigger")
    first, second = host.files_of_release()
    assert first == second


@pytest.mark.parametrize(("fault", "share"), [("truncated_file:share=0.4", 0.4), ("empty_file", 0.0)])
def test_file_cut_short_in_transfer_is_reported_as_success(bench: CameraBench, fault: str, share: float) -> None:
    host = bench.host(bench.start(fault))
    announced = released(host)
    size = bench.card_file(announced).stat().st_size
    fetched = host.call("fetch", announced)
    assert (fetched["bytes"], fetched["listed_bytes"]) == (round(size * share), size)
    assert host.call("fetch", announced)["bytes"] == size


@pytest.mark.parametrize("fault", ["truncated_file:where=card", "empty_file:where=card"])
def test_file_broken_on_the_card_has_the_size_that_is_listed(bench: CameraBench, fault: str) -> None:
    camera = bench.start(fault)
    host = bench.host(camera)
    broken, whole = released(host), released(host)
    fetched = host.call("fetch", broken)
    assert fetched["bytes"] == fetched["listed_bytes"] < 0.6 * bench.card_file(whole).stat().st_size


def test_full_card_refuses_the_release(bench: CameraBench) -> None:
    camera = bench.start("card_full")
    host = bench.host(camera)
    assert error_code(host, "trigger") == -1
    assert camera.capture.releases == 0


def test_card_that_fills_while_writing_tells_so_after_the_shutter_has_gone(bench: CameraBench) -> None:
    camera = bench.start("card_full:when=writing")
    host = bench.host(camera)
    host.call("trigger")
    (store_full, complete) = host.call("events", 5.0, "complete")
    assert "400a" in store_full[1]  # ISO 15740 event StoreFull
    assert complete[0] == "complete"
    assert camera.capture.releases == 1


def test_small_card_fills_by_itself_and_takes_releases_again_once_formatted(bench: CameraBench) -> None:
    camera = bench.start(card_mib=1, pixels=(640, 480))  # room for 3 by the body's estimate
    host = bench.host(camera)
    assert camera.capture.room_frames() == 3
    camera.body.card.save(camera.body.card.take_number(), ".TIF", bytes(1_000_000))
    assert error_code(host, "trigger") == -1
    bench.hands(camera).do("format_card")
    released(host)


def test_low_battery_refuses_the_release_and_shows_its_level(bench: CameraBench) -> None:
    host = bench.host(bench.start("battery_low"))
    assert error_code(host, "trigger") == -1
    assert host.call("get", "batterylevel") == "3%"


def test_refused_setting_keeps_its_value(bench: CameraBench) -> None:
    host = bench.host(bench.start("setting_refused:setting=iso"))
    assert error_code(host, "set", "iso", "200") == -2
    assert host.call("get", "iso") == "100"
    assert host.call("set", "iso", "200") == "200"


def test_silently_refused_setting_reports_success_and_reads_back_as_before(bench: CameraBench) -> None:
    host = bench.host(bench.start("setting_refused:setting=iso,silently=1"))
    assert host.call("set", "iso", "200") == "100"


def test_lost_event_channel_leaves_commands_working(bench: CameraBench) -> None:
    camera = bench.start("event_channel_lost")
    host = bench.host(camera)
    host.call("trigger")
    assert error_code(host, "events", 5.0, "complete") == -1
    assert host.call("set", "iso", "200") == "200"
    assert camera.capture.wait_until_written()
    host.call("again")
    assert len(host.call("files")) == 1


def test_live_view_goes_black_once(bench: CameraBench) -> None:
    host = bench.host(bench.start("live_view_black:after=1"))
    frames = [host.call("preview") for _ in range(4)]
    assert len({frame["sha256"] for frame in frames}) == 4


def test_live_view_freezes_as_long_as_told(bench: CameraBench) -> None:
    host = bench.host(bench.start("live_view_frozen:times=3,after=1"))
    frames = [host.call("preview")["sha256"] for _ in range(6)]
    assert len(set(frames)) == 3


def test_slow_live_view_is_busy_until_its_time_is_over(bench: CameraBench) -> None:
    camera = bench.start("live_view_slow:seconds=0.5")
    camera.viewfinder.switch(True)
    asked_s = camera.body.clock.now_s()
    answers = [camera.viewfinder.frame()]
    while answers[-1][0] is not Response.OK:
        assert answers[-1] == (Response.DeviceBusy, b"")
        answers.append(camera.viewfinder.frame())
    assert camera.body.clock.now_s() - asked_s >= 0.5
    assert len(answers) > 1


def test_live_view_has_another_size_as_long_as_told(bench: CameraBench) -> None:
    camera = bench.start("live_view_resized:times=2,width=640,height=424")
    viewfinder = camera.viewfinder
    viewfinder.switch(True)
    sizes = [Image.open(BytesIO(viewfinder.frame()[1])).size for _ in range(4)]
    assert sizes == [(640, 424), (640, 424), (1024, 680), (1024, 680)]


def test_live_view_is_lost_and_starts_again_at_the_next_try(bench: CameraBench) -> None:
    camera = bench.start("live_view_lost:after=3")
    host = bench.host(camera)
    host.call("preview")
    host.call("preview")
    assert error_code(host, "preview") == -1
    assert not camera.body.live_view
    assert host.call("preview")["start"] == "ffd8"


def test_fault_strikes_after_the_occasions_it_lets_pass_and_then_no_more() -> None:
    script = FaultScript()
    script.add_text("busy:times=2,after=1,operation=GetObject")
    struck = [bool(script.take("busy", operation="GetObject")) for _ in range(5)]
    assert struck == [False, True, True, False, False]
    assert script.take("busy", operation="InitiateCapture") is None


def test_fault_with_times_zero_strikes_until_cleared() -> None:
    script = FaultScript()
    script.add("no_file", times=0)
    assert all(script.take("no_file") for _ in range(100))
    script.clear()
    assert script.take("no_file") is None


@pytest.mark.parametrize(
    "text", ["gremlin", "busy:colour=red", "busy:times", "busy:times=x", "stall:seconds=soon", "busy:times=-1"]
)
def test_fault_written_wrongly_is_refused_with_a_sentence(text: str) -> None:
    with pytest.raises(ValueError, match=r"\.$"):
        FaultScript().add_text(text)


def test_every_fault_can_be_scripted_with_its_defaults_written_out() -> None:
    script = FaultScript()
    for name, kind in FAULTS.items():
        script.add_text(f"{name}:" + ",".join(f"{key}={value}" for key, value in kind.options.items()))
    assert [fault["name"] for fault in script.state()] == list(FAULTS)
