"""Mutants differ from the judge in one place each, and only where it matters."""

from __future__ import annotations

import ast
from pathlib import Path

from benchmarks.mutants import JUDGE, changes, judging_tests, mutated

SOURCE = """
@dataclass(frozen=True)
class Limits:
    most: Literal[3] = 2
def over(a, b):
    if a and not b:
        return a < b + 1.5
    return list(zip(a, b, strict=True))
"""


def _made() -> list[str]:
    n_places = len(changes(ast.parse(SOURCE)))
    return [ast.unparse(mutated(SOURCE, at)[0]) for at in range(n_places)]


def test_every_mutant_is_another_module() -> None:
    made = _made()
    assert len({ast.unparse(ast.parse(SOURCE)), *made}) == len(made) + 1
    for changed in (
        "= 3", "if not (a and", "a or not b", "a <= b + 1.5", "a < b - 1.5", "b + 2.5",
    ):  # fmt: skip
        assert sum(changed in text for text in made) == 1, changed


def test_decorators_annotations_and_strict_zips_are_left_alone() -> None:
    for text in _made():
        assert "@dataclass(frozen=True)" in text
        assert "Literal[3]" in text
        assert "strict=True" in text


def test_a_mutant_is_told_by_its_line() -> None:
    tree = ast.parse(SOURCE)
    at = next(k for k, (statement, _) in enumerate(changes(tree)) if statement.lineno == 7)
    assert mutated(SOURCE, at)[1].startswith("7: return a < b + 1.5  ->  return a ")


def _names(part: str) -> list[list[str]]:
    return [[Path(file).stem for file in group] for group in judging_tests(JUDGE / part)]


def test_each_part_of_the_judge_meets_its_own_tests_first_and_each_once() -> None:
    for path in JUDGE.rglob("*.py"):
        groups = judging_tests(path)
        assert all(groups)  # an empty group would be the whole suite
        files = [file for group in groups for file in group]
        assert len(set(files)) == len(files)
        assert all(Path(file).exists() for file in files)
    assert all("flash" in name for group in _names("flash/meter.py") for name in group)
    first, *others = _names("promises/drawn.py")
    assert first == [name for name in first if name.startswith("test_promises")]
    assert first
    assert others == [[name for name in others[0] if not name.startswith("test_flash")]]
    assert others[0][-1] == "test_planted"
    # What has slow tests of its own meets all of them, and nobody else does.
    meets = {name for group in _names("between/jumps.py") for name in group}
    assert meets >= {"test_between", "test_between_parts", "test_slides_and_jumps"}
    assert not meets & {*first, *others[0]}
