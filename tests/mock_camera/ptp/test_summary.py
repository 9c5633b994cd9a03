"""Summaries of cameras as text, in the library's two layouts, in any language: what is read, what is passed over."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mock_camera.ptp.codes import DataType
from mock_camera.ptp.datasets import FORM_ENUMERATION, FORM_NONE, FORM_RANGE
from mock_camera.ptp.summary import Listed, Summary, SummaryError, parse_summary


def only(text: str) -> Listed:
    (listed,) = parse_summary(text).properties
    return listed


@pytest.mark.parametrize(
    ("line", "listed"),
    [
        (
            "F-Number(0x5007):(readwrite) (type=0x4) Enumeration [560,1100] value: f/11 (1100)",
            (0x5007, DataType.UINT16, True, FORM_ENUMERATION, (560, 1100), 1100),
        ),
        (
            "Blende (5007 rw u16): Aufzählung [560,1100] Wert: f/11 (1100)",
            (0x5007, DataType.UINT16, True, FORM_ENUMERATION, (560, 1100), 1100),
        ),
        (
            "Battery Level(0x5001):(read only) (type=0x2) Range [0 - 100, step 1] value: 80% (80)",
            (0x5001, DataType.UINT8, False, FORM_RANGE, (0, 100, 1), 80),
        ),
        ("Something (d0a0 ro i16): value: -3", (0xD0A0, DataType.INT16, False, FORM_NONE, (), -3)),
        (
            "Artist (d0b0 rw str): 'nobody in particular'",
            (0xD0B0, DataType.STR, True, FORM_NONE, (), "nobody in particular"),
        ),
        (
            "Size (5003 rw str): Enumeration ['L','M','S'] value: 'M'",
            (0x5003, DataType.STR, True, FORM_ENUMERATION, ("L", "M", "S"), "M"),
        ),
        ("Drive (d0c0 wo u8): value: 1", (0xD0C0, DataType.UINT8, True, FORM_NONE, (), 1)),
        ("Silent (d0c1 rw u32):", (0xD0C1, DataType.UINT32, True, FORM_NONE, (), 0)),
    ],
)
def test_a_property_is_read_by_its_numbers_in_either_layout(line: str, listed: tuple[object, ...]) -> None:
    found = only(line)
    assert (found.code, found.data_type, found.writable, found.form.kind, found.form.values, found.value) == listed


@pytest.mark.parametrize(
    "line",
    [
        "Arrays (d0d0 rw au16): [1,2,3]",
        "Wide (d0d1 rw u128): value: 1",
        "Too large (d0d2 rw u8): value: 300",
        "None of it(0xd0d3):(readwrite) (type=0x4002) value: 1",
    ],
)
def test_what_cant_be_played_is_left_out(line: str) -> None:
    text = f"Vendor extension ID: 0xb\n{line}"
    assert parse_summary(text).properties == ()


def test_a_list_that_is_broken_over_lines_is_one_list() -> None:
    found = only("ISO (500f rw u16): Enumeration [\n 64,80,\n 100,\n 200] value: 100 (100)")
    assert found.form.values == (64, 80, 100, 200) and found.value == 100


def test_a_property_that_is_listed_twice_counts_as_it_is_listed_last() -> None:
    text = "A (5007 rw u16): value: 1\nB (500f rw u16): value: 2\nA (5007 rw u16): value: 3"
    assert [(one.code, one.value) for one in parse_summary(text).properties] == [(0x5007, 3), (0x500F, 2)]


@pytest.mark.parametrize(
    ("text", "extension"), [("Vendor Extension ID: 0xb (1.0)\n", 0x0B), ("vendor extension id : 0x0000000A", 0x0A)]
)
def test_the_extension_is_found_by_its_number(text: str, extension: int) -> None:
    assert parse_summary(text) == Summary(extension, ())


def test_a_whole_configuration_is_read_in_the_librarys_words() -> None:
    text = """Vendor extension ID: 0xb
/main/imgsettings/iso
Label: ISO
Type: RADIO
Current: 100
Choice: 0 Auto
Choice: 1 100
Choice: 2 200
END
/main/other/silent
Label: nothing is told of it
END
/main/capturesettings/aperture
Current: 11
Choice: 0 8
Choice: 1 11
"""
    worded = parse_summary(text).worded
    assert set(worded) == {"iso", "aperture"}
    assert (worded["iso"].value, worded["iso"].choices) == ("100", ("Auto", "100", "200"))
    assert worded["aperture"].choices == ("8", "11")


@pytest.mark.parametrize("text", ["", "nothing of the kind", "[0x5007]\n(value)\n"])
def test_a_text_without_extension_and_property_is_no_summary(text: str) -> None:
    with pytest.raises(SummaryError) as refused:
        parse_summary(text)
    said = f"A text of {len(text)} characters without a device property is no summary of a camera."
    assert str(refused.value) == said


@settings(max_examples=60)
@given(st.text(alphabet="A(50f7 rwu16s):[]{},'\"\n-0123456789x=type vlue", max_size=200))
def test_any_text_is_a_summary_or_a_sentence(text: str) -> None:
    try:
        found = parse_summary(text)
    except SummaryError as error:
        assert str(error).endswith(".")
    else:
        assert all(0 <= one.code <= 0xFFFF for one in found.properties)
