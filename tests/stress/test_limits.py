"""Every threshold of ours can be set in a brief, every other number is accounted for."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import pytest

import panelbeater
from panelbeater.brief import read_brief
from panelbeater.scores import STANDARD, Limits

PACKAGE = Path(panelbeater.__file__).parent
STANDARDS = {
    "scores/flash/colour.py": {"RED_SHARE"},  # WCAG 2.2: R / (R + G + B)
    "scores/flash/field.py": {"AREA_LIMIT", "WHOLE_SCREEN"},  # WCAG 2.2
    "scores/flash/meter.py": {"FAILING_TURNS", "CALM_FLASHES", "_SPACING_S"},
    "scores/flash/transitions.py": {
        "GENERAL_STEP", "DARKER_BELOW", "RED_STEP",  # WCAG 2.2
        "_SETS_OFF",  # IEEE Std 181
    },
    "scores/motion/jerk.py": {"MINIMUM_JERK"},  # the quintic's own value
}  # fmt: skip
"""Numbers of published standards, and of the meter that keeps to them for safety."""
SAFETY = {"scores/flash/concurrent.py": {"SHORTEST_S", "LONGEST_S"}}
"""Our reading of "concurrent", which the standard leaves open: not to be loosened."""
ARITHMETIC = {
    "scores/shot.py": {"ROUNDING"},
    "scores/seen.py": {"_ALONGSIDE"},
    "scores/fields.py": {"FARTHEST", "LARGEST", "NEAREST"},
    "scores/read.py": {"MOST_BYTES", "VERSIONS", "FPS_RANGE"},
    "scores/overlay.py": {"_GRID_BITS", "_SMALLEST"},
    "scores/layout/silhouette.py": {"_STEPS"},
    "scores/motion/drawings.py": {"_EXPOSURES", "_SAME", "_GROUP"},
    "scores/flash/transitions.py": {"_ROUNDING"},
    "scores/between/certificate.py": {"FINEST"},
    "scores/promises/where.py": {"LOOKED_INTO"},
}
"""Rounding, sampling and the size of files: they decide nothing that a viewer sees."""


def numbers(path: Path) -> Iterator[str]:
    """Names of a module that are set to a number, or to a tuple of numbers."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        target = node.targets[0] if isinstance(node, ast.Assign) else None
        if not isinstance(target, ast.Name) or not isinstance(node, ast.Assign):
            continue
        parts = [part for part in ast.walk(node.value) if isinstance(part, ast.Constant)]
        inner = (ast.Constant, ast.Tuple, ast.BinOp, ast.UnaryOp, ast.operator, ast.Load)
        plain = all(isinstance(part, inner) for part in ast.walk(node.value))
        if plain and parts and all(isinstance(p.value, int | float) for p in parts):
            yield target.id


def changed(value: float) -> float:
    """Another value a brief may give."""
    return value + 1 if isinstance(value, int) else 1.5 * value


@pytest.mark.parametrize("name", [field.name for field in fields(Limits)])
def test_every_threshold_can_be_set_in_a_brief(tmp_path: Path, name: str) -> None:
    wanted = changed(getattr(STANDARD, name))
    path = tmp_path / "brief.toml"
    path.write_text(f'vehicle = "v.svg"\nfigure = "f.svg"\n[limits]\n{name} = {wanted!r}\n')
    limits = read_brief(path).limits
    assert getattr(limits, name) == wanted
    others = [f.name for f in fields(Limits) if f.name != name]
    assert all(getattr(limits, n) == getattr(STANDARD, n) for n in others)


def test_every_threshold_is_used_by_what_it_names() -> None:
    folders = (PACKAGE / "scores", PACKAGE / "stress")
    text = "\n".join(p.read_text() for folder in folders for p in folder.rglob("*.py"))
    idle = [f.name for f in fields(Limits) if f"limits.{f.name}" not in text]
    assert idle == []


def test_every_number_of_the_judge_is_a_threshold_a_standard_or_arithmetic() -> None:
    found = {}
    for path in sorted((PACKAGE / "scores").rglob("*.py")):
        names = set(numbers(path))
        if names:
            found[path.relative_to(PACKAGE).as_posix()] = names
    known: dict[str, set[str]] = {}
    for table in (STANDARDS, SAFETY, ARITHMETIC):
        for file, names in table.items():
            known.setdefault(file, set()).update(names)
    assert found == known


def test_no_target_is_written_into_the_judges_code() -> None:
    # All or nothing are no thresholds: every landmark legible, no outline crossed.
    for path in (PACKAGE / "scores").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Target":
                values = [*node.args, *(word.value for word in node.keywords)]
                bare = [v.value for v in values if isinstance(v, ast.Constant)]
                assert set(bare) <= {0.0, 1.0, None}, path
