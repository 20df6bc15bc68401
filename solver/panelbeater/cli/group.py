"""The command itself; its verbs live beside this file."""

from __future__ import annotations

import click

from panelbeater import __version__
from panelbeater.cli.common import leaving_at_once


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="panelbeater")
@click.pass_context
def main(context: click.Context) -> None:
    """Plan how a drawn vehicle unfolds into a standing robot, and hand over a rig.

    \b
    Look first:      panelbeater demo
    Your drawings:   panelbeater plan lorry.svg robot.svg -o lorry-plan
    Then edit lorry-plan/pieces.csv and plan again:
                     panelbeater plan lorry.svg robot.svg --pieces lorry-plan/pieces.csv
    Other ideas:     panelbeater alternates lorry.svg robot.svg -k 4 -o ideas
    Will it read?    panelbeater stress lorry-plan
    Take it away:    panelbeater export lorry-plan --to lottie --to mp4
    Tab completion:  panelbeater completion bash

    `panelbeater VERB --help` shows examples of each.
    """
    context.with_resource(leaving_at_once())
