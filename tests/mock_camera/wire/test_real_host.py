"""The real libgphoto2 drives the camera: connect, settings, releases, transfer, live view."""

import hashlib

import pytest

from tests.support.camera_bench import CameraBench
from tests.support.gphoto_host import GphotoError

STANDARD_WIDGETS = {
    "shutterspeed",
    "f-number",
    "iso",
    "whitebalance",
    "focusmode",
    "flashmode",
    "expprogram",
    "exposurecompensation",
    "capturedelay",
    "batterylevel",
    "datetime",
    "serialnumber",
}
VENDOR_WIDGETS = {"shutterspeed2", "imagequality", "manualfocusdrive", "viewfinder", "liveviewimagezoomratio"}


def test_host_connects_and_finds_every_setting_as_a_widget(bench: CameraBench) -> None:
    host = bench.host(bench.start())
    widgets = host.call("widgets")
    assert widgets.keys() >= STANDARD_WIDGETS | VENDOR_WIDGETS
    assert widgets["serialnumber"]["value"] == "IOW-000001"
    assert widgets["shutterspeed"]["value"] == "0.0050s"
    assert widgets["shutterspeed2"]["value"] == "1/200"
    assert {"1/250", "1/4000", "30"} <= set(widgets["shutterspeed2"]["choices"])
    assert widgets["f-number"]["value"] == "f/11"
    assert widgets["batterylevel"]["value"] == "80%"
    assert widgets["batterylevel"]["readonly"]


def test_plain_camera_offers_settings_and_releases_but_no_live_view(bench: CameraBench) -> None:
    host = bench.host(bench.start(plain=True))
    widgets = host.call("widgets")
    assert widgets.keys() >= STANDARD_WIDGETS
    assert "manualfocusdrive" not in widgets
    with pytest.raises(GphotoError) as refused:
        host.call("preview")
    assert refused.value.code == -6  # GP_ERROR_NOT_SUPPORTED
    host.call("trigger")
    assert len(host.files_of_release()) == 1


@pytest.mark.parametrize(
    ("widget", "value", "setting", "physical"),
    [
        ("shutterspeed2", "1/500", "exposure_s", 1 / 500),
        ("shutterspeed2", "13/10", "exposure_s", 1.3),
        ("shutterspeed", "1/250", "exposure_s", 1 / 250),
        ("f-number", "f/5.6", "f_number", 5.6),
        ("iso", "400", "iso", 400),
        ("whitebalance", "Daylight", "white_balance", "daylight"),
        ("focusmode", "Automatic", "focus_mode", "automatic"),
        ("flashmode", "Flash off", "flash_mode", "off"),
        ("expprogram", "A", "exposure_program", "aperture priority"),
        ("exposurecompensation", "-0.333", "exposure_compensation_ev", -1 / 3),
        ("capturedelay", "2.000s", "capture_delay_s", 2.0),
    ],
)
def test_setting_made_by_the_host_arrives_in_the_body(
    bench: CameraBench, widget: str, value: str, setting: str, physical: float | str
) -> None:
    camera = bench.start()
    host = bench.host(camera)
    host.call("set", widget, value)
    assert camera.body.setting(setting) == (
        pytest.approx(physical, rel=1e-3) if isinstance(physical, float) else physical
    )


def test_both_exposure_widgets_follow_each_other(bench: CameraBench) -> None:
    host = bench.host(bench.start())
    assert host.call("set", "shutterspeed2", "1/125") == "1/125"
    host.call("events", 1.0, "500d")
    assert host.call("get", "shutterspeed") == "0.0080s"


def test_value_the_camera_does_not_offer_is_refused_and_changes_nothing(bench: CameraBench) -> None:
    camera = bench.start()
    host = bench.host(camera)
    with pytest.raises(GphotoError):
        host.call("set", "iso", "12345")
    assert camera.body.setting("iso") == 100


def test_date_and_time_are_set_by_the_host(bench: CameraBench) -> None:
    camera = bench.start()
    host = bench.host(camera)
    host.call("set", "datetime", 1_800_000_000)
    shown = camera.body.clock.date_time()
    assert abs(host.call("get", "datetime") - 1_800_000_000) <= 2
    assert shown.year == 2027  # 1 800 000 000 s after 1970 is in January 2027


def test_release_gives_one_jpeg_whose_bytes_arrive_unchanged(bench: CameraBench) -> None:
    camera = bench.start()
    host = bench.host(camera)
    host.call("trigger")
    (announced,) = host.files_of_release()
    assert announced.endswith("/DCIM/100STILL/STIL0001.JPG")
    on_card = bench.card_file(announced).read_bytes()
    fetched = host.call("fetch", announced)
    assert fetched["sha256"] == hashlib.sha256(on_card).hexdigest()
    assert fetched["bytes"] == fetched["listed_bytes"] == len(on_card)
    assert fetched["mime"] == "image/jpeg"


def test_capture_in_one_call_names_the_file(bench: CameraBench) -> None:
    host = bench.host(bench.start())
    assert host.call("capture").endswith("/DCIM/100STILL/STIL0001.JPG")
    assert host.call("capture").endswith("/DCIM/100STILL/STIL0002.JPG")


def test_file_of_several_megabytes_arrives_in_parts_unchanged(bench: CameraBench) -> None:
    camera = bench.start()
    host = bench.host(camera)
    data = bytes(range(256)) * 12_000  # 3 MB: libgphoto2 asks for 1 MiB at a time
    camera.body.card.save(camera.body.card.take_number(), ".TIF", data)
    host.call("again")
    (listed,) = host.call("files")
    fetched = host.call("fetch", listed)
    assert fetched["sha256"] == hashlib.sha256(data).hexdigest()
    assert fetched["mime"] == "image/x-tiffep"


@pytest.mark.parametrize(("jpeg_first", "order"), [(False, ["TIF", "JPG"]), (True, ["JPG", "TIF"])])
def test_raw_and_jpeg_of_one_release_share_their_number(bench: CameraBench, jpeg_first: bool, order: list[str]) -> None:
    host = bench.host(bench.start(jpeg_first=jpeg_first))
    choices = host.call("widgets")["imagequality"]["choices"]
    host.call("set", "imagequality", choices[2])
    host.call("trigger")
    announced = host.files_of_release()
    assert [path[-12:] for path in announced] == [f"STIL0001.{suffix}" for suffix in order]


def test_numbers_run_on_over_releases_deletion_and_restart(bench: CameraBench) -> None:
    first = bench.start()
    host = bench.host(first)
    announced = []
    for _ in range(2):
        host.call("trigger")
        announced += host.files_of_release()
    host.call("delete", announced[0])
    assert not bench.card_file(announced[0]).exists()
    host.call("exit")
    second = bench.host(bench.start())
    assert [path[-12:] for path in second.call("files")] == ["STIL0002.JPG"]
    second.call("trigger")
    assert second.files_of_release()[0].endswith("STIL0003.JPG")


def test_thumbnail_is_smaller_than_the_picture(bench: CameraBench) -> None:
    host = bench.host(bench.start())
    host.call("trigger")
    (announced,) = host.files_of_release()
    thumb = host.call("fetch", announced, "preview")
    assert 0 < thumb["bytes"] < host.call("fetch", announced)["bytes"]


def test_free_space_shrinks_by_the_file(bench: CameraBench) -> None:
    host = bench.host(bench.start())
    before = host.call("storage")
    host.call("trigger")
    (announced,) = host.files_of_release()
    size_kib = bench.card_file(announced).stat().st_size / 1024
    assert before["capacity_kib"] == 4096 * 1024
    assert before["free_kib"] - host.call("storage")["free_kib"] == pytest.approx(size_kib, abs=1)


def test_live_view_gives_new_jpegs_until_it_is_ended(bench: CameraBench) -> None:
    camera = bench.start()
    host = bench.host(camera)
    frames = [host.call("preview") for _ in range(3)]
    assert all(frame["start"] == "ffd8" for frame in frames)
    assert len({frame["sha256"] for frame in frames}) == 3
    assert camera.body.live_view
    host.call("set", "viewfinder", 0)
    assert not camera.body.live_view


def test_live_view_is_enlarged_where_the_host_points(bench: CameraBench) -> None:
    camera = bench.start()
    host = bench.host(camera)
    host.call("preview")
    host.call("set", "liveviewimagezoomratio", "100%")
    host.call("set", "changeafarea", "256x510")
    host.call("preview")
    assert camera.body.source.live_asked[-1] == (8.0, (0.25, 0.75))  # type: ignore[attr-defined]


def test_focus_is_driven_by_signed_steps_up_to_the_end_stop(bench: CameraBench) -> None:
    camera = bench.start()
    host = bench.host(camera)
    with pytest.raises(GphotoError) as without_live_view:
        host.call("set", "manualfocusdrive", 10)
    assert without_live_view.value.code == -1
    host.call("preview")
    host.call("set", "manualfocusdrive", 120)
    host.call("set", "manualfocusdrive", -20)
    assert camera.body.source.state() == {"focus_steps": 100}
    with pytest.raises(GphotoError) as at_end_stop:
        host.call("set", "manualfocusdrive", 30_000)
    assert at_end_stop.value.code == -113


def test_live_view_ends_with_the_connection(bench: CameraBench) -> None:
    camera = bench.start()
    host = bench.host(camera)
    host.call("preview")
    camera.wire.cut(0.0)
    assert not camera.body.live_view
    host.call("again")
    assert host.call("preview")["start"] == "ffd8"


def test_second_host_is_refused_while_the_first_is_there(bench: CameraBench) -> None:
    camera = bench.start()
    first = bench.host(camera)
    with pytest.raises(GphotoError):
        bench.host(camera)
    assert first.call("get", "iso") == "100"
    first.call("exit")
    assert bench.host(camera).call("get", "iso") == "100"


def test_live_picture_that_takes_long_to_form_keeps_the_host_waiting_and_then_arrives(
    bench: CameraBench,
) -> None:
    camera = bench.start()
    host = bench.host(camera)
    with camera.body.table_lock:  # as if a picture were being formed all the while
        assert host.call("preview")["bytes"] == 0
        assert host.call("get", "iso") == "100"
    assert host.call("preview")["start"] == "ffd8"
