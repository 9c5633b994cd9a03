"""`stillset`: the commands, each loaded only when it is asked for.

Exit codes: see `tui/shell/troubles.py`.
"""

from __future__ import annotations

from importlib import import_module

import click

COMMANDS = {
    "demo": "Play an invented job on a simulated camera.",
    "job": "The order: read or type what a client wants; what is done, what is to go.",
    "shoot": "Shoot: the bench beside the tripod, or --headless for scripts.",
    "cameras": "List the cameras that answer.",
    "log": "Look back: jobs, frames, set-ups, notes; the ledger screen.",
    "follow": "Look on from another terminal or a tablet; only looks.",
    "setup": "Show, compare or change a set-up from the shell.",
    "card": "The set card of a set-up: plan to scale, lights, lens, order of building.",
    "reshoot": "Build an old set-up again and compare it with its reference.",
    "verify": "Read every file again and compare it with the log, or with a hand-over's hashes.",
    "handover": "Hand a job over: one folder with originals, sidecars, tables and hashes.",
    "archive": "Share logs in the studio's archive: send, fetch, status.",
    "plan": "Work out optics, light, sync and focus steps before anything is moved.",
    "kit": "The kit file: what may stand in it, whether one is right, a new one.",
    "check": "Judge picture files: focus, dark band, light, against a reference.",
    "series": "A focus series: shoot one; where its frames are sharp, what is missing, a preview.",
    "completion": "Have bash, zsh or fish complete commands and options.",
    "keys": "List the keys of the screens.",
}
"""Name → one line for the help. The command `NAME` is the function of that name in `tui.commands.NAME_command`."""


class Commands(click.Group):
    """A group whose commands are imported only when run, so that `--help` is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command = getattr(import_module(f"tui.commands.{cmd_name}_command"), cmd_name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="stillset", message="stillset %(version)s")
def stillset() -> None:
    """Close-up product photography on a tripod: drive the camera, keep the flash rules, log every frame.

    Exit codes: 0 done, 1 failed, 2 wrong use, 3 stopped by a rule, 4 done, but something that was wanted is missing.
    """
