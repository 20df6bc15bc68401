"""The verb that teaches a shell to complete our words."""

from __future__ import annotations

import click

from panelbeater.cli.common import say
from panelbeater.cli.group import main

SHELLS = ("bash", "zsh", "fish")


@main.command()
@click.argument("shell", type=click.Choice(SHELLS))
def completion(shell: str) -> None:
    """Print what your shell needs to complete verbs, options and formats with Tab.

    \b
    For this session, then for every one from now on:
    bash  eval "$(panelbeater completion bash)"
          panelbeater completion bash >> ~/.bashrc
    zsh   eval "$(panelbeater completion zsh)"
          panelbeater completion zsh >> ~/.zshrc
    fish  panelbeater completion fish | source
          panelbeater completion fish > ~/.config/fish/completions/panelbeater.fish
    """
    from click.shell_completion import ShellComplete, get_completion_class

    kind = get_completion_class(shell)
    if kind is None:
        raise AssertionError(f"click knows no {shell}")
    made = kind(main, {}, "panelbeater", "_PANELBEATER_COMPLETE")
    # Not made.source(): bash's own starts a bash to ask for its version, and may complain.
    say(ShellComplete.source(made))
