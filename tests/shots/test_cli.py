"""The command line: exit statuses, one-line errors, and nothing spoilt on the way."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from panelbeater.cli import main
from panelbeater.rig import plan_schema
from tests.shots.drawn import write_drawings

HEAVY = (
    "ortools",
    "scipy",
    "shapely",
    "numpy",
    "pydantic",
    "svgelements",
    "skimage",
    "PIL",
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two good drawings, and the working folder beside them."""
    write_drawings(tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _run(*arguments: str) -> Result:
    return CliRunner().invoke(main, arguments)


def _refused(*arguments: str, status: int = 2) -> str:
    """The one line a refusal prints."""
    result = _run(*arguments)
    assert result.exit_code == status, result.output
    assert result.stdout == ""
    assert result.stderr.startswith("panelbeater: ")
    assert result.stderr.count("\n") == 1
    return result.stderr


def test_help_tells_the_verbs() -> None:
    result = _run("-h")
    assert result.exit_code == 0
    for verb in ("plan", "demo", "check", "schema"):
        assert f"\n  {verb} " in result.stdout
    assert "--budget" in _run("plan", "--help").stdout


def test_help_loads_no_solver() -> None:
    code = (
        "import sys, panelbeater.cli; from click.testing import CliRunner; "
        "assert CliRunner().invoke(panelbeater.cli.main, ['plan', '-h']).exit_code == 0; "
        f"print([name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True
    )
    assert done.stdout.strip() == "[]"


def test_the_schema_is_printed_as_json() -> None:
    result = _run("schema")
    assert result.exit_code == 0
    assert json.loads(result.stdout) == plan_schema()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "van.svg"),
        ("<svg", "van.svg"),
        ('<svg xmlns="http://www.w3.org/2000/svg"/>', "van.svg"),
    ],
    ids=["empty", "truncated", "no shapes"],
)
def test_an_unusable_vehicle_is_refused_by_name(
    folder: Path, content: str, said: str
) -> None:
    (folder / "van.svg").write_text(content, encoding="utf-8")
    assert said in _refused("plan", "van.svg", "figure.svg", "-o", "out")
    assert not (folder / "out").exists()


@pytest.mark.usefixtures("folder")
def test_missing_drawings_are_named() -> None:
    assert "nowhere.svg" in _refused("plan", "nowhere.svg", "figure.svg")
    assert "nobody.svg" in _refused("plan", "tractor.svg", "nobody.svg")
    assert "nothing.toml" in _refused("plan", "nothing.toml")


@pytest.mark.usefixtures("folder")
def test_one_drawing_alone_is_not_enough() -> None:
    assert "FIGURE.svg" in _refused("plan", "tractor.svg")


def test_a_brief_with_a_second_figure_is_refused(folder: Path) -> None:
    brief = folder / "brief.toml"
    brief.write_text('vehicle = "tractor.svg"\nfigure = "figure.svg"\n', encoding="utf-8")
    assert "leave FIGURE out" in _refused("plan", "brief.toml", "figure.svg")


def test_a_brief_with_a_wrong_key_is_refused_with_its_line(folder: Path) -> None:
    (folder / "brief.toml").write_text(
        'vehicle = "tractor.svg"\nfigure = "figure.svg"\nframe = 48\n', encoding="utf-8"
    )
    assert "brief.toml:3: unknown key 'frame'; did you mean 'frames'?" in _refused(
        "plan", "brief.toml"
    )


def test_an_unknown_piece_in_the_list_is_named(folder: Path) -> None:
    (folder / "list.csv").write_text("piece,kind\nwheel_raer,wheel\n", encoding="utf-8")
    message = _refused(
        "plan", "tractor.svg", "figure.svg", "--pieces", "list.csv", "-o", "out"
    )
    assert "list.csv" in message
    assert "wheel_raer" in message
    assert not (folder / "out").exists()


def test_an_unknown_piece_in_the_brief_is_named(folder: Path) -> None:
    (folder / "brief.toml").write_text(
        'vehicle = "tractor.svg"\nfigure = "figure.svg"\n[pin]\nwheel_raer = "torso"\n',
        encoding="utf-8",
    )
    assert "wheel_raer" in _refused("plan", "brief.toml", "-o", "out")


def test_a_file_where_the_folder_should_be_is_kept(folder: Path) -> None:
    (folder / "out").write_text("mine", encoding="utf-8")
    assert "is a file" in _refused("plan", "tractor.svg", "figure.svg", "-o", "out")
    assert (folder / "out").read_text(encoding="utf-8") == "mine"


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    "wrong",
    [
        ("--frames", "3"),
        ("--fps", "0"),
        ("--budget", "0"),
        ("--seed", "x"),
        ("--nonsense",),
    ],
)
def test_options_out_of_range_end_with_two(wrong: tuple[str, ...]) -> None:
    result = _run("plan", "tractor.svg", "figure.svg", *wrong)
    assert result.exit_code == 2
    assert wrong[0] in result.stderr


@pytest.mark.slow
def test_a_body_that_cannot_hide_ends_with_three_and_overwrites_nothing(
    folder: Path,
) -> None:
    (folder / "brief.toml").write_text(
        'vehicle = "tractor.svg"\nfigure = "figure.svg"\nfigure_height = 900\n',
        encoding="utf-8",
    )
    (folder / "out").mkdir()
    (folder / "out" / "plan.json").write_text("an older plan", encoding="utf-8")
    message = _refused("plan", "brief.toml", "-o", "out", status=3)
    assert "leaks" in message
    assert [p.name for p in (folder / "out").iterdir()] == ["plan.json"]
    assert (folder / "out" / "plan.json").read_text(encoding="utf-8") == "an older plan"


def test_checking_what_is_no_frames_file_is_refused(folder: Path) -> None:
    (folder / "frames.ndjson").write_text(
        '{"format": "something else"}\n', encoding="utf-8"
    )
    assert "line 1" in _refused("check", str(folder))


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is not told")
def test_a_search_that_needs_more_memory_than_allowed_says_so_in_one_line(
    folder: Path,
) -> None:
    said = _refused(
        "plan", "tractor.svg", "figure.svg", "-o", "out", "--memory", "0.1"
    )  # less than the libraries take
    assert "it came to hold 0.1 GiB of memory" in said
    assert "raise --memory" in said
    assert not (folder / "out").exists()
