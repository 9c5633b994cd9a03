"""`stillset plan`: work it out before anything is moved."""

from __future__ import annotations

from importlib import import_module

import click

QUESTIONS = {
    "view": ("view_question", "What to put up for a piece: every arrangement of the kit, ranked with reasons."),
    "depth": ("lens_questions", "Depth of field, light lost and diffraction of one arrangement."),
    "lens": ("lens_questions", "What a lens that focuses inside lets through close up, from one frame."),
    "steps": ("lens_questions", "How many frames of a focus series cover a depth."),
    "light": ("light_questions", "The f-number that one flash gives, or the power that it needs."),
    "card": ("light_questions", "What a white card beside the piece fills in."),
    "sync": ("light_questions", "What the shutter cuts off the flash, and the fastest safe time."),
    "plate": ("set_questions", "What a sheet of glass for axial light costs and does to the picture."),
    "shake": ("set_questions", "How long a touched stand swings, and what of it shows."),
}
"""Name → module in `tui.commands.planning`, one line for the help."""


class Questions(click.Group):
    """A group whose questions are imported only when asked, so that `--help` is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(QUESTIONS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in QUESTIONS:
            return None
        module = import_module(f"tui.commands.planning.{QUESTIONS[cmd_name][0]}")
        command = getattr(module, cmd_name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in QUESTIONS.items()])


@click.command(cls=Questions)
def plan() -> None:
    """Work out optics, light, sync and focus steps before anything is moved.

    Options and JSON keys are the quantity's name with its unit, the same as in a kit file. What is missing is
    asked for at a terminal. With --json a question prints an object; infinite and unknown values are null there.
    """
