"""Help teaches by examples that can be typed, and shells complete our words."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from panelbeater.cli import main

VERBS = sorted(main.commands)
MENTIONED = (
    "lorry.svg", "robot.svg", "brief.toml", "lorry-plan/pieces.csv",
    "lorry-plan/frames.ndjson", "lorry-plan-96-frames/plan.json", "ideas/1/plan.json",
    "ideas/2/plan.json", "ideas/3/plan.json",
)  # fmt: skip
EXAMPLE = re.compile(r"panelbeater [a-z].*")


def _help(*verb: str) -> str:
    result = CliRunner().invoke(main, [*verb, "--help"], terminal_width=120)
    assert result.exit_code == 0
    return result.stdout


def _examples(text: str) -> list[list[str]]:
    """Arguments of every example, without what the shell does with the output."""
    lines = [found.group() for found in map(EXAMPLE.search, text.splitlines()) if found]
    lines = [re.split(r"[>|)]", line)[0] for line in lines]
    return [shlex.split(line)[1:] for line in lines]


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_shows_an_example_of_itself(verb: str) -> None:
    assert any(words[0] == verb for words in _examples(_help(verb)))


@pytest.mark.parametrize("verb", [None, *VERBS])
def test_every_example_can_be_typed(
    verb: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in MENTIONED:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    text = _help(verb) if verb else _help()
    found = _examples(text)
    assert found
    for name, *arguments in found:
        main.commands[name].make_context(name, arguments)  # raises for what it cannot read


@pytest.mark.parametrize("verb", [v for v in VERBS if v not in ("schema", "completion")])
def test_every_verb_with_a_result_can_give_it_as_json(verb: str) -> None:
    options = [o for p in main.commands[verb].params for o in p.opts]
    assert "--json" in options


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_prints_the_script_of_the_shell(shell: str) -> None:
    result = CliRunner().invoke(main, ["completion", shell])
    assert result.exit_code == 0
    assert f"_PANELBEATER_COMPLETE={shell}_complete" in result.stdout
    assert result.stderr == ""


@pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not on this machine")
def test_bash_completes_verbs_options_and_formats() -> None:
    command = Path(sys.executable).parent / "panelbeater"
    script = (
        'eval "$(panelbeater completion bash)" && complete -p panelbeater '
        "&& COMP_WORDS=(panelbeater export --to g) COMP_CWORD=3 "
        '&& _panelbeater_completion panelbeater && echo "${COMPREPLY[@]}"'
    )
    done = subprocess.run(
        ["bash", "-c", script], check=True, capture_output=True, text=True,
        env={**os.environ, "PATH": f"{command.parent}:{os.environ['PATH']}"},
    )  # fmt: skip
    assert done.stdout.split("\n")[1].split() == ["gltf", "gif"]
    assert done.stderr == ""
