"""`stillset completion`: the shell's own lines with which it completes commands and options."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

from tui.shell.options import argument

SHELLS = ("bash", "zsh", "fish")


@click.command()
@argument("shell", type=click.Choice(SHELLS))
def completion(shell: str) -> None:
    """Print what a shell needs to complete commands and options.

    \b
    bash   eval "$(stillset completion bash)"     in ~/.bashrc
    zsh    eval "$(stillset completion zsh)"      in ~/.zshrc, after compinit
    fish   stillset completion fish > ~/.config/fish/completions/stillset.fish
    """
    from tui.commands.command_line import stillset  # noqa: PLC0415 - which loads this

    found = get_completion_class(shell)
    assert found is not None
    click.echo(found(stillset, {}, "stillset", "_STILLSET_COMPLETE").source())
