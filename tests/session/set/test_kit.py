"""The kit file: what is read, and how each fault is named."""

import os

import pytest

from session.set.kit import KitError, demo_kit, parse_kit, read_kit

BODY = """
[[body]]
name = "Wendle 16"
sensor_width_mm = 24
sensor_height_mm = 16
pixels_across = 1536
pixels_down = 1024
sync_time_s = 0.005
"""


def faults(text: str) -> str:
    with pytest.raises(KitError) as raised:
        parse_kit(text, "kit.toml")
    return str(raised.value)


def test_the_demo_kit_is_whole_and_says_that_it_is_invented():
    kit = demo_kit()
    assert kit.invented
    assert kit.light_for("key") is not None
    assert kit.body_for("").sync_time_s == 0.005


def test_a_misspelt_field_is_named_with_its_line():
    assert "line 9, body 1 sync_tme_s: there is no field of this name" in faults(BODY + "sync_tme_s = 0.005\n")


def test_all_faults_are_named_at_once():
    text = faults("[[body]]\nname = 'b'\nsensor_width_mm = -1\n\n[[light]]\nname = 'key'\nguide_number_m = 'much'\n")
    assert "line 3, body 1 sensor_width_mm" in text
    assert "body 1 sync_time_s: this field is needed" in text
    assert "line 7, light 1 guide_number_m" in text


def test_broken_toml_says_where():
    assert "line 2" in faults("[[body]]\nname = \n")


@pytest.mark.parametrize("value", ["0", "-0.005", "nan", "inf"])
def test_a_sync_time_must_be_a_time(value):
    assert "sync_time_s" in faults(BODY.replace("0.005", value))


def test_two_things_of_one_name_are_refused():
    assert "light 'key' is there twice" in faults("[[light]]\nname = 'key'\n[[light]]\nname = 'key'\n")


def test_a_single_bracket_is_explained():
    assert "double brackets" in faults("[body]\nname = 'b'\n")


@pytest.mark.parametrize("name", ["a=b", "a,b", "a\\u001b[31m", ""])
def test_names_that_would_break_a_command_line_or_a_terminal_are_refused(name):
    assert "light 1 name" in faults(f'[[light]]\nname = "{name}"\n')


def test_files_that_are_not_there_or_not_text_are_named(tmp_path):
    with pytest.raises(KitError, match="there is no such file"):
        read_kit(tmp_path / "none.toml")
    (tmp_path / "latin.toml").write_bytes(b"name = '\xff'")
    with pytest.raises(KitError, match="isn't UTF-8"):
        read_kit(tmp_path / "latin.toml")
    with pytest.raises(KitError):
        read_kit(tmp_path)


def test_an_empty_kit_is_a_kit():
    assert parse_kit("", "kit.toml").body_for("") is None


LIGHT = """
[[light]]
name = "key"
guide_number_m = 36
shaper = "tube"
duration_t01_s = 0.001
durations_t01_s = {"0" = 0.004, "-2" = 0.001}
shaper_losses_ev = {"tube" = 0.8}
[[shaper]]
name = "tube"
loss_ev = 1.5
[[shaper]]
name = "sheet"
"""


def test_a_loss_measured_with_the_light_goes_before_the_shapers_own():
    kit = parse_kit(LIGHT, "kit.toml")
    key = kit.light_for("key")
    assert key is not None
    assert kit.loss_ev(key, "tube") == 0.8
    assert kit.loss_ev(key.model_copy(update={"shaper_losses_ev": {}}), "tube") == 1.5
    assert kit.loss_ev(key, "") == 0.0
    assert kit.loss_ev(key, "sheet") is None


def test_flash_duration_follows_the_power_between_the_known_ones_and_is_one_figure_beyond():
    key = parse_kit(LIGHT, "kit.toml").light_for("key")
    assert key.duration_at_s(0) == 0.004
    assert key.duration_at_s(-1) == pytest.approx(0.002)  # half-way in log t
    assert key.duration_at_s(-5) == 0.001
    assert key.model_copy(update={"durations_t01_s": {}, "duration_t01_s": None}).duration_at_s(-1) is None


def test_a_shaper_that_the_kit_has_not_is_named():
    text = faults(LIGHT.replace('name = "tube"', 'name = "tub"'))
    assert "light 'key' names the shaper 'tube', which the kit hasn't" in text
    assert text.count("names the shaper") == 1


def test_the_demo_kit_has_something_of_every_kind():
    kit = demo_kit()
    assert all(getattr(kit, group) for group in type(kit).model_fields)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("sensor_width_mm = 0.036", "sensor_width_mm is 0.036 mm, but must be from 1 to 300 mm: was it given in m?"),
        ("curtain_travel_s = 3", "curtain_travel_s is 3 s, but must be from 0.00001 to 0.5 s: was it given in ms?"),
        ("sync_time_s = 200", "sync_time_s"),
    ],
)
def test_a_number_that_can_not_be_meant_is_refused_with_the_likely_slip(line, words):
    name = line.split(" =")[0]
    kept = "\n".join(one for one in BODY.splitlines() if not one.startswith(name))
    assert words in faults(f"{kept}\n{line}\n")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("#" * 1_000_001, "larger than 1 MB"),
        ("a=" + "[" * 65 + "]" * 65, "more than 64 deep"),
        ("a=" + "[" * 400_000, "more than 64 deep"),
        ("a=" + "{a=" * 200_000, "more than 64 deep"),
        (".".join("a" * 400_000) + "=1", "more than 64 deep"),
        ("[" + ".".join("a" * 400_000) + "]", "more than 64 deep"),
        ("invented=" + "9" * 5000, "not valid TOML"),
        ('a="' + '\\"' * 400_000, "not valid TOML"),
        ("body=5", "double brackets"),
        ("body=[5]", "double brackets"),
        ("[[body]]\nname=5", "line 2"),
        ("[[body]]\nname={a={b=[]}}", "line 2"),
        ("[[lens]]\nname='a'\nfocal_length_mm=[]", "line 3"),
        ("[[lens]]\nname='a'\nfocal_length_mm=2026-05-04", "line 3"),
        ("[[light]]\nname='a'\nshaper_losses_ev=3", "line 3"),
        ("'\\u0000'=1", "no field of this name"),
    ],
)  # fmt: skip
def test_a_hostile_file_is_refused_with_its_reason(text, words):
    with pytest.raises(KitError, match=words):
        parse_kit(text, "k.toml")


def test_brackets_and_dots_in_words_are_no_levels():
    words = "[" * 75 + "."
    assert parse_kit(f"# {words}\n[[support]]\nname = '{words}'\n", "k.toml").support[0].name == words
    assert parse_kit('[[support]]\nname = """\n' + words + '"""\n', "k.toml").support[0].name == words


def test_what_is_no_file_or_too_large_is_not_read(tmp_path):
    pipe, large = tmp_path / "pipe", tmp_path / "large"
    os.mkfifo(pipe)
    with pytest.raises(KitError, match="it is no file"):
        read_kit(pipe)
    with large.open("wb") as file:
        file.truncate(1 << 40)
    with pytest.raises(KitError, match="larger than 1 MB"):
        read_kit(large)


def test_kit_file_with_the_words_of_an_older_stillset_is_read() -> None:
    old = '[[light]]\nname = "key"\ncharging_time_s = 3.5\n\n[[stand]]\nname = "column"\nfrequency_hz = 9.0\n'
    kit = parse_kit(old, "kit.toml")
    assert (kit.light[0].recycling_time_s, kit.support[0].name, kit.support[0].frequency_hz) == (3.5, "column", 9.0)
    with pytest.raises(KitError, match="line 4, stand: there is no field of this name"):
        parse_kit('[[support]]\nname = "tripod"\n\n[[stand]]\nname = "column"\n', "kit.toml")


def test_powers_and_times_in_a_kit_are_written_as_everywhere() -> None:
    body = "sensor_width_mm = 24\nsensor_height_mm = 16\npixels_across = 3\npixels_down = 2\nsync_time_s = '1/200'\n"
    kit = parse_kit(f'[[body]]\nname = "a"\n{body}[[light]]\nname = "key"\nleast_power_ev = "1/128"\n', "kit.toml")
    assert (kit.body[0].sync_time_s, kit.light[0].least_power_ev) == (0.005, -7.0)
    with pytest.raises(KitError, match="light 1 least_power_ev: power is written like 1/4"):
        parse_kit('[[light]]\nname = "key"\nleast_power_ev = "weak"\n', "kit.toml")
