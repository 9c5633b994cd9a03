"""Options for quantities: typed as photographers write them, refused in one sentence with exit code 2."""

from __future__ import annotations

import click
import pytest
from click.testing import CliRunner

from session.units.refusals import ImpossibleNumbersError
from tui.shell.options import QuantityType, Refused, quantity, refusing, stack_options
from tui.shell.troubles import WRONG_USE


@click.command()
@stack_options(
    quantity("exposure_s", "Time.", 1 / 200),
    quantity("power_ev", "At least.", end="from"),
    quantity("f_number", "Aperture.", envvar="TEST_APERTURE"),
)
def told(**options: object) -> None:
    """Prints what it was given."""
    for name, value in options.items():
        click.echo(f"{name}={value}")


@pytest.mark.parametrize(
    ("asked", "line"),
    [
        ((), "exposure_s=0.005"),
        (("--exposure-s", "1/60"), f"exposure_s={1 / 60}"),
        (("--power-ev-from", "1/4"), "power_ev_from=-2.0"),
        (("--f-number", "f/11"), "f_number=11.0"),
        ((), "f_number=None"),
    ],
)
def test_a_quantity_is_typed_as_everywhere_and_named_with_its_unit(asked: tuple[str, ...], line: str) -> None:
    answer = CliRunner().invoke(told, list(asked))
    assert answer.exit_code == 0 and line in answer.output.splitlines()


def test_the_environment_may_say_it_too() -> None:
    assert "f_number=8.0" in CliRunner().invoke(told, [], env={"TEST_APERTURE": "f/8"}).output


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--exposure-s", "200"), "exposure_s is 200 s, but must be from 0.000001 to 60 s: was 1/200 typed as 200?"),
        (("--f-number", "wide"), "an f-number is written like 11 or f/11, not 'wide'."),
        (("--power-ev-from", "2"), "power_ev is 2 EV, but must be from -16 to 0 EV."),
    ],
)
def test_what_cant_be_meant_is_one_sentence_and_code_2(asked: tuple[str, ...], said: str) -> None:
    answer = CliRunner().invoke(told, list(asked))
    assert (answer.exit_code, answer.output.strip()) == (WRONG_USE, said)


def test_options_stand_in_the_help_in_their_order_with_their_defaults() -> None:
    text = CliRunner().invoke(told, ["--help"]).output
    places = [text.index(name) for name in ("--exposure-s", "--power-ev-from", "--f-number")]
    assert places == sorted(places) and "[default: 0.005]" in text


@pytest.mark.parametrize(("name", "unit"), [("distance_mm", "mm"), ("iso", "number"), ("azimuth_deg", "°")])
def test_a_type_is_called_by_its_unit(name: str, unit: str) -> None:
    assert QuantityType(name).name == unit


def test_a_sentence_of_the_session_becomes_a_refusal_and_other_mistakes_stay_ours() -> None:
    with pytest.raises(Refused) as refused, refusing():
        raise ImpossibleNumbersError("behind_mm is 5 mm, but no series reaches that far.")
    assert refused.value.message == "behind_mm is 5 mm, but no series reaches that far."
    with pytest.raises(KeyError), refusing():
        raise KeyError("our mistake")
