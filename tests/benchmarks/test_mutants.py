"""Mutants differ from the judge in one place each, and only where it matters."""

from __future__ import annotations

import ast

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


def test_each_part_of_the_judge_has_tests() -> None:
    for path in JUDGE.rglob("*.py"):
        assert judging_tests(path)
    assert all("flash" in test for test in judging_tests(JUDGE / "flash" / "meter.py"))
    assert "test_promises" in judging_tests(JUDGE / "promises" / "drawn.py")[0]
