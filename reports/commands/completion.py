"""The command `offcut completion`: what lets a shell complete offcut's words."""

from __future__ import annotations

import click

PLACES = {
    "bash": "~/.bashrc",
    "zsh": "~/.zshrc",
    "fish": "~/.config/fish/completions/offcut.fish",
}


@click.command()
@click.argument("shell", type=click.Choice(tuple(PLACES)))
def completion(shell: str) -> None:
    """Print what lets SHELL complete the commands and options of offcut.

    \b
    It is switched on by adding it to the file that the shell reads at its start:
      offcut completion bash >> ~/.bashrc
      offcut completion zsh >> ~/.zshrc
      offcut completion fish > ~/.config/fish/completions/offcut.fish
    """
    from click.shell_completion import get_completion_class

    root = click.get_current_context().find_root().command
    kind = get_completion_class(shell)
    assert kind is not None  # all of our choices are click's
    click.echo(kind(root, {}, "offcut", "_OFFCUT_COMPLETE").source())
