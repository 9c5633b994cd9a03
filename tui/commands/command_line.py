"""`stillset`: the commands, each loaded only when it is asked for.

Exit codes: 0 done, 1 failed, 2 wrong use, 3 stopped by a rule.
"""

from __future__ import annotations

from importlib import import_module

import click

COMMANDS = {
    "demo": ("tui.commands.demo_command", "demo", "Play an invented job on a simulated camera."),
    "shoot": ("tui.commands.shoot_command", "shoot", "Shoot: the bench beside the tripod, or --headless for scripts."),
    "cameras": ("tui.commands.cameras_command", "cameras", "List the cameras that answer."),
    "log": ("tui.commands.log_command", "log", "Look back: jobs, frames, set-ups, notes; the ledger screen."),
    "follow": ("tui.commands.follow_command", "follow", "Look on from another terminal or a tablet; only looks."),
    "setup": ("tui.commands.setup_command", "setup", "Show, compare or change a set-up from the shell."),
    "reshoot": (
        "tui.commands.reshoot_command",
        "reshoot",
        "Build an old set-up again and compare it with its reference.",
    ),
    "verify": ("tui.commands.verify_command", "verify", "Read every file again and compare it with the log."),
    "archive": ("tui.commands.archive_command", "archive", "Share logs in the studio's archive: send, fetch, status."),
    "plan": (
        "tui.commands.plan_command",
        "plan",
        "Work out optics, light, sync and focus steps before anything is moved.",
    ),
    "kit": ("tui.commands.kit_command", "kit", "The kit file: what may stand in it, whether one is right, a new one."),
    "check": (
        "tui.commands.check_command",
        "check",
        "Judge picture files: focus, dark band, light, against a reference.",
    ),
    "completion": (
        "tui.commands.completion_command",
        "completion",
        "Have bash, zsh or fish complete commands and options.",
    ),
    "keys": ("tui.commands.keys_command", "keys", "List the keys of the screens."),
}
"""Name → module, attribute, one line for the help."""


class Commands(click.Group):
    """A group that imports a command when it is run, so that `--help` is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, attribute, _ = COMMANDS[cmd_name]
        command = getattr(import_module(module), attribute)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, _, text) in COMMANDS.items()])


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="stillset", message="stillset %(version)s")
def stillset() -> None:
    """Close-up product photography on a tripod: drive the camera, keep the flash rules, log every frame.

    Exit codes: 0 done, 1 failed, 2 wrong use, 3 stopped by a rule.
    """
