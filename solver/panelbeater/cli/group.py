"""The command itself; its verbs live beside this file."""

from __future__ import annotations

import click

from panelbeater import __version__


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="panelbeater")
def main() -> None:
    """Plan how a drawn vehicle unfolds into a standing robot, and hand over a rig.

    \b
    Look first:      panelbeater demo
    Your drawings:   panelbeater plan lorry.svg robot.svg -o lorry-plan
    Then edit lorry-plan/pieces.csv and plan again:
                     panelbeater plan lorry.svg robot.svg --pieces lorry-plan/pieces.csv
    Take it away:    panelbeater export lorry-plan --to lottie --to mp4

    \b
    Words completed with the Tab key, once a session or in your shell's start-up file:
    bash  eval "$(_PANELBEATER_COMPLETE=bash_source panelbeater)"
    zsh   eval "$(_PANELBEATER_COMPLETE=zsh_source panelbeater)"
    fish  _PANELBEATER_COMPLETE=fish_source panelbeater | source
    """
