"""A person's choices by options: where log and pictures lie, which lights are put in or struck, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click
import platformdirs
import pytest
from click.testing import CliRunner

from session.set.kit import demo_kit
from session.set.setup import PassiveItem, PlacedLight, Revision
from tui.shell.choices import (
    Choices,
    Label,
    choices_from,
    default_log,
    log_to_write,
    own_log,
    parse_item,
    parse_light,
    pictures_of,
    place_options,
    setup_options,
)
from tui.shell.options import Refused

KIT = demo_kit()
KEY = KIT.light[0].name


@pytest.fixture(autouse=True)
def own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Folders of this test's account, and no choices out of the environment."""
    for name in ("STILLSET_LOG", "STILLSET_KIT", "STILLSET_COPY_TO"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(platformdirs, "user_data_path", lambda name: tmp_path / "data" / name)
    monkeypatch.setattr(platformdirs, "user_pictures_path", lambda: tmp_path / "Pictures")


def choices(**told: object) -> Choices:
    return Choices(log="log.db", folder=Path("/pictures"), **told)  # type: ignore[arg-type]


# --- where things lie -----------------------------------------------------------------------------------


def test_without_a_word_the_log_is_the_accounts_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert default_log() == str(tmp_path / "data" / "stillset" / "shoot.db") == str(own_log())
    monkeypatch.setenv("STILLSET_LOG", "/elsewhere/shoot.db")
    assert default_log() == "/elsewhere/shoot.db"


def test_pictures_lie_beside_a_named_log_and_those_of_the_own_among_the_users(tmp_path: Path) -> None:
    assert pictures_of(str(tmp_path / "job.db")) == tmp_path / "pictures"
    assert pictures_of(str(own_log())) == tmp_path / "Pictures" / "stillset"
    (own_log().parent / "pictures").mkdir(parents=True)
    assert pictures_of(str(own_log())) == own_log().parent / "pictures", "some are there already"


def test_folders_are_made_for_the_own_log_only(tmp_path: Path) -> None:
    assert log_to_write(str(own_log())).parent.is_dir()
    assert log_to_write(str(tmp_path / "slip" / "of" / "the pen.db")) and not (tmp_path / "slip").exists()


def test_the_environment_stands_in_for_what_was_not_said(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("STILLSET_KIT", "/kits/mine.toml")
    monkeypatch.setenv("STILLSET_COPY_TO", str(tmp_path / "copies"))
    found = choices_from({"log": str(tmp_path / "job.db")})
    assert (found.kit, found.copy_to) == (Path("/kits/mine.toml"), tmp_path / "copies")
    assert (found.folder, found.job, found.lights) == (tmp_path / "pictures", "", ())
    said = choices_from({"log": "x", "kit": Path("/other.toml"), "copy_to": tmp_path, "folder": tmp_path / "f"})
    assert (said.kit, said.copy_to, said.folder) == (Path("/other.toml"), tmp_path, tmp_path / "f")


def test_only_settings_that_were_asked_for_are_kept() -> None:
    found = choices_from({"log": "x", "exposure_s": 1 / 60, "iso": None, "hold_off_s": 0.0, "blur_limit_px": None})
    assert (found.settings, found.limits) == ((("exposure_s", 1 / 60),), (("hold_off_s", 0.0),))


# --- lights ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "light"),
    [
        ("key", ("key", {})),
        ("key,power_ev=-2", ("key", {"power_ev": -2.0})),
        ("key, power_ev=1/4 , shaper=tube", ("key", {"power_ev": -2.0, "shaper": "tube"})),
        ("key,power_ev=−2,distance_mm=600", ("key", {"power_ev": -2.0, "distance_mm": 600.0})),
        ("rim,azimuth_deg=60 left,elevation_deg=35 up", ("rim", {"azimuth_deg": 60.0, "elevation_deg": 35.0})),
        ("rim,azimuth_deg=-60", ("rim", {"azimuth_deg": -60.0})),
        ("rim,note=", ("rim", {"note": ""})),
    ],
)
def test_a_light_is_written_with_what_is_known_of_it(text: str, light: tuple[str, dict[str, object]]) -> None:
    name, changes = parse_light(text)
    assert name == light[0] and changes == pytest.approx(light[1])


@pytest.mark.parametrize("text", ["", ",power_ev=-2", "power_ev=-2", "key,power=-2", "key,power_ev", "key,,"])
def test_a_light_that_is_written_otherwise_is_refused_with_how(text: str) -> None:
    with pytest.raises(click.BadParameter, match=r"power_ev=-2"):
        parse_light(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("key,power_ev=3", "power_ev is 3 EV, but must be from -16 to 0 EV."),
        ("key,distance_mm=0.6", "distance_mm is 0.6 mm, but must be from 1 to 100,000 mm: was it given in m?"),
        ("key,elevation_deg=sideways", "a height is written like 35 up or 10 down, up to 90°, not 'sideways'."),
    ],
)
def test_a_number_that_cant_be_meant_is_refused_by_its_quantity(text: str, said: str) -> None:
    with pytest.raises(Refused) as refused:
        parse_light(text)
    assert refused.value.message == said


# --- what the set-up shall be ---------------------------------------------------------------------------


def test_choices_change_settings_lens_limits_and_lights_together() -> None:
    lens = KIT.lens[1]
    wanted = choices(
        settings=(("exposure_s", 1 / 60),), limits=(("hold_off_s", 3.0),), lens=lens.name, magnification=0.4,
        lights=((KEY, {"power_ev": -2.0, "distance_mm": 600.0}),),
    )  # fmt: skip
    changed = wanted.change(Revision(), KIT)
    assert (changed.settings.exposure_s, changed.hold_off_s) == (1 / 60, 3.0)
    assert (changed.arrangement.lens, changed.arrangement.focal_length_mm) == (lens.name, lens.focal_length_mm)
    assert changed.arrangement.magnification == 0.4
    assert changed.lights == (PlacedLight(KEY, -2.0, 600.0),)
    assert choices(struck=(KEY,)).change(changed, KIT).lights == ()
    assert choices().change(changed, KIT) == changed, "who asks for nothing changes nothing"


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"lens": "nobody's"}, 'the kit has no lens "nobody\'s"; it has '),
        ({"lights": (("sun", {}),)}, "the kit has no light 'sun'; it has "),
        ({"struck": ("sun",)}, "there is no light 'sun' in set-up 01.1"),
    ],
)
def test_what_the_kit_or_the_set_has_not_is_refused_with_what_there_is(told: dict[str, object], said: str) -> None:
    with pytest.raises(click.UsageError) as refused:
        choices(**told).change(Revision(), KIT)
    assert refused.value.message.startswith(said)


def test_a_light_that_stands_in_the_set_may_be_changed_though_the_kit_has_it_not() -> None:
    borrowed = Revision(lights=(PlacedLight("borrowed", -1.0),))
    assert choices(lights=(("borrowed", {"distance_mm": 500.0}),)).change(borrowed, KIT).lights[0].distance_mm == 500.0


@pytest.mark.parametrize(("text", "ok"), [("07.3", True), ("7", True), ("", True), ("seven", False), ("7.", False)])
def test_a_set_up_is_written_by_its_label(text: str, ok: bool) -> None:
    if ok:
        assert Label().convert(text, None, None) == text
    else:
        with pytest.raises(click.BadParameter, match="a set-up is written like"):
            Label().convert(text, None, None)


def test_the_options_of_a_shoot_are_named_as_the_quantities_are() -> None:
    @click.command()
    @place_options
    @setup_options
    def told(**options: object) -> None:
        click.echo(sorted(name for name, value in options.items() if value))

    asked = ["--job", "j", "--exposure-s", "1/200", "--light", "key", "--light", "rim", "--no-light", "fill"]
    assert "['exposure_s', 'job', 'lights', 'struck']" in CliRunner().invoke(told, asked).output


def test_a_thing_of_the_set_is_put_in_changed_and_taken_out_as_a_light_is() -> None:
    put = [
        "reflector white card 210 x 297,distance_mm=410,azimuth_deg=120 left,elevation_deg=20 up",
        "glass pane,turned_deg=45 left,note=edges taped",
    ]
    made = choices_from({"items": put}).change(Revision(), KIT)
    card = PassiveItem("bounce", "white card", 410.0, 120.0, 20.0, "", 210.0, 297.0)
    pane = PassiveItem("plate", "pane", note="edges taped", turned_deg=45.0, turned_to="left")
    assert made.passive == (card, pane)
    changed = choices_from({"items": ["reflector white card,distance_mm=300"], "struck_items": ["glass pane"]})
    assert changed.change(made, KIT).passive == (replace(card, distance_mm=300.0),)
    with pytest.raises(click.UsageError, match="there is no 'flag pane'"):
        choices_from({"struck_items": ["flag pane"]}).change(made, KIT)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("mirror", "begins with reflector, flag, glass"),
        ("flag,power_ev=-1", "is not one of distance_mm"),
        ("flag,turned_deg=45", "a turn is written like 45 left"),
        ("flag,distance_mm=0", "distance_mm"),
        ("flag,distance_mm=300,distance_mm=400", "distance_mm is given twice"),
        ("flag,distance_mm=600,taped=300 left 400 front 0 up", "taped tells where it stands, distance_mm too"),
    ],
)
def test_a_thing_that_is_written_otherwise_is_refused_with_how(text: str, said: str) -> None:
    with pytest.raises(click.ClickException, match=said):
        parse_item(text)


def test_another_shaper_has_another_size() -> None:
    big = Revision(lights=(PlacedLight(KEY, shaper="softbox", width_mm=600.0, height_mm=900.0),))
    bare = choices_from({"lights": [f"{KEY},shaper=tube"]}).change(big, KIT)
    assert bare.lights == (PlacedLight(KEY, shaper="tube"),)
    assert choices_from({"lights": [f"{KEY},power_ev=-1"]}).change(big, KIT).lights[0].width_mm == 600.0
