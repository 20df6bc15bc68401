"""The map in DEVELOPERS.md, the import contract and the folders tell the same story."""

from __future__ import annotations

import ast
import importlib
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from panelbeater.brief import Brief
from panelbeater.drawing.piece_rows import COLUMNS
from panelbeater.terms.drawing import KINDS
from panelbeater.terms.figure import BONE_IDS

TOP = Path(__file__).parents[1]
PACKAGE = TOP / "solver" / "panelbeater"
MAP = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (TOP / "README.md").read_text(encoding="utf-8")


def table(header: str) -> list[list[str]]:
    """Cells of the rows under the line that starts with `header`."""
    lines = MAP.splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith(header))
    rows = []
    for line in lines[start + 2 :]:
        if not line.startswith("|"):
            break
        rows.append([cell.strip() for cell in line.strip("|").split("|")])
    return rows


def quoted(text: str) -> list[str]:
    """Words in backticks, folders without their slash, modules without `.py`."""
    return [word.rstrip("/").removesuffix(".py") for word in re.findall(r"`([^`]+)`", text)]


def contract_layers() -> list[set[str]]:
    """Names on each floor of the layers contract, top to bottom."""
    config = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = config["tool"]["importlinter"]["contracts"]
    layers = next(c["layers"] for c in contracts if c["type"] == "layers")
    return [{name.strip() for name in layer.split("|")} for layer in layers]


ROOMS = {quoted(row[0])[0]: quoted(row[3]) for row in table("| room | takes")}
FLOORS = [name for row in table("| floor | holds") for name in quoted(row[0])]
LAYERS = contract_layers()


def test_the_contract_names_every_module_and_no_other() -> None:
    folders = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    modules = {path.stem for path in PACKAGE.glob("*.py")} - {"__init__"}
    assert set().union(*LAYERS) == folders | modules


def test_the_rooms_on_the_map_are_the_rooms_of_the_contract() -> None:
    assert set(ROOMS) == next(layer for layer in LAYERS if "drawing" in layer)


def test_the_floors_on_the_map_lie_below_the_rooms() -> None:
    rooms = next(n for n, layer in enumerate(LAYERS) if "drawing" in layer)
    assert set(FLOORS) == set().union(*LAYERS[rooms + 1 :])


@pytest.mark.parametrize("room", ROOMS)
def test_every_door_on_the_map_opens(room: str) -> None:
    module = importlib.import_module(f"panelbeater.{room}")
    assert ROOMS[room], "a room needs a door"
    assert set(ROOMS[room]) <= set(module.__all__)


def imports_of(path: Path) -> list[str]:
    """Modules named in the import statements of a file."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.append(node.module)
        elif isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
    return found


def test_rooms_are_entered_by_their_door() -> None:
    through_walls = [
        f"{path.relative_to(PACKAGE)} imports {name}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for name in imports_of(path)
        if len(parts := name.split(".")) > 2
        and parts[1] in ROOMS
        and path.relative_to(PACKAGE).parts[0] != parts[1]
    ]
    assert through_walls == []


def test_the_flow_uses_the_doors_on_the_map() -> None:
    modules = ("shot.py", "animation.py", "verdict.py", "deliver.py")
    flow = "".join((PACKAGE / name).read_text(encoding="utf-8") for name in modules)
    unused = [
        room for room, doors in ROOMS.items() if not any(f"{d}(" in flow for d in doors)
    ]
    assert unused == []


@pytest.mark.parametrize("name", ["ortools", "numpy", "shapely", "lxml", "pydantic"])
def test_help_opens_without_the_solvers(name: str) -> None:
    look = "import sys, panelbeater.cli, panelbeater.effort; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", look], check=True, capture_output=True)
    loaded = run.stdout.decode().split()
    assert "panelbeater.cli" in loaded
    assert name not in loaded


def test_no_module_outgrows_three_hundred_lines() -> None:
    lengths = {
        str(path.relative_to(TOP)): len(path.read_text(encoding="utf-8").splitlines())
        for folder in (PACKAGE, TOP / "tests", TOP / "benchmarks")
        for path in sorted(folder.rglob("*.py"))
    }
    assert {name: n for name, n in lengths.items() if n > 300} == {}


def commands() -> list[str]:
    """The lines of the README's shell blocks."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    return [line for block in blocks for line in block.splitlines() if line]


def test_the_machine_that_checks_runs_the_readmes_test_command() -> None:
    check = next(line for line in commands() if line.endswith("poe check"))
    assert check in (TOP / ".ci" / "run").read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize("word", [*COLUMNS, *Brief.model_fields, *KINDS])
def test_the_readme_explains_every_column_key_and_kind(word: str) -> None:
    assert re.search(rf"`\[?{word}\]?\b", README)


@pytest.mark.parametrize(
    "region", sorted({b.removesuffix("_l").removesuffix("_r") for b in BONE_IDS})
)
def test_the_readme_names_every_region(region: str) -> None:
    assert re.search(rf"`{region}(_l)?`", README)
