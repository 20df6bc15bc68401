"""Plants small faults in the judge, one at a time, and counts those its tests notice.

    python -m benchmarks.mutants [--count 150] [--seed 1] [--only promises]

A mutant is the judge with one comparison, sum, number or condition changed; it is found
when a test fails, crashes or runs on past CPU_S. Some changes make no difference (`<` for
`<=` between measured lengths), so that not all can be found. Every mutant is a fork with
the libraries loaded: nothing on the disk is touched. Exit status 1 when fewer than WANTED
are found.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import os
import resource
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from itertools import chain
from pathlib import Path
from types import CodeType
from typing import Any

import numpy as np
import pytest
import scipy.optimize
import scipy.sparse.csgraph
import shapely
import skimage

HOME = Path(__file__).parents[1]
SOLVER, TESTS = HOME / "solver", HOME / "tests"
JUDGE = SOLVER / "panelbeater" / "scores"
WANTED, CPU_S = 0.8, 120
APART = {
    "flash": ("test_flash_limits.py", "test_flash_*.py", "test_flash.py"),
    "between": ("test_between_*.py", "test_slides_and_jumps.py", "test_between.py"),
}
"""Parts of the judge with slow tests of their own, which no other part needs; quick ones
first."""
LOADED = (np, scipy.optimize, scipy.sparse.csgraph, shapely, skimage)
"""Imported once, here, for all forks."""
SWAPS: dict[type[ast.AST], Any] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn,
    ast.NotIn: ast.In, ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div,
    ast.Div: ast.Mult, ast.FloorDiv: ast.Mult, ast.Pow: ast.Mult, ast.And: ast.Or,
    ast.Or: ast.And, ast.BitAnd: ast.BitOr, ast.USub: ast.UAdd,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mutant:
    """The `at`-th place of a file that can be changed."""

    path: Path
    at: int


def changes(tree: ast.Module) -> list[tuple[ast.stmt, Callable[[], None]]]:
    """Every small change of a module in the order of its text: the statement it is in, and
    what makes it. Annotations, decorators and `strict=` checks are left alone.
    """
    return [
        (statement, change)
        for statement in ast.walk(tree)
        if isinstance(statement, ast.stmt)
        for node in _own_nodes(statement)
        for change in _changes_of(node)
    ]


def mutated(source: str, at: int) -> tuple[ast.Module, str]:
    """The module with its `at`-th change made, and the changed statement's first line."""
    tree = ast.parse(source)
    statement, change = changes(tree)[at]
    before = ast.unparse(statement)
    change()
    pairs = zip(before.splitlines(), ast.unparse(statement).splitlines(), strict=True)
    was, now = next((a.strip(), b.strip()) for a, b in pairs if a != b)
    return ast.fix_missing_locations(tree), f"{statement.lineno}: {was}  ->  {now}"


def _own_nodes(statement: ast.stmt) -> Iterator[ast.AST]:
    """What belongs to a statement and to none inside it."""
    skipped = {"annotation", "returns", "decorator_list", "type_comment"}
    waiting: list[ast.AST] = [statement]
    while waiting:
        node = waiting.pop(0)
        yield node
        for name, value in ast.iter_fields(node):
            children = value if isinstance(value, list) else [value]
            waiting += [
                child
                for child in children
                if isinstance(child, ast.AST)
                and not isinstance(child, ast.stmt)
                and name not in skipped
                and not (isinstance(child, ast.keyword) and child.arg == "strict")
            ]


def _changes_of(node: ast.AST) -> Iterator[Callable[[], None]]:
    match node:
        case ast.Compare(ops=ops):
            for k, op in enumerate(ops):
                yield partial(ops.__setitem__, k, SWAPS[type(op)]())
        case ast.BinOp() | ast.BoolOp() | ast.UnaryOp() | ast.AugAssign():
            if type(node.op) in SWAPS:
                yield partial(setattr, node, "op", SWAPS[type(node.op)]())
        case ast.Constant(value=bool(value)):
            yield partial(setattr, node, "value", not value)
        case ast.Constant(value=int(value) | float(value)):
            yield partial(setattr, node, "value", value + 1)
        case ast.If() | ast.IfExp() | ast.While():
            yield partial(setattr, node, "test", ast.UnaryOp(ast.Not(), node.test))


class _Planted(SourceFileLoader):
    """Loads the mutant where the module it was made from is asked for."""

    def __init__(self, path: Path, tree: ast.Module) -> None:
        self._tree = tree
        parts = path.relative_to(SOLVER).with_suffix("").parts
        super().__init__(".".join(part for part in parts if part != "__init__"), str(path))

    def get_code(self, fullname: str) -> CodeType:
        return compile(self._tree, self.path, "exec")


class _Finder(MetaPathFinder):
    def __init__(self, planted: _Planted) -> None:
        self._planted = planted

    def find_spec(self, name: str, *_: object) -> ModuleSpec | None:
        if name != self._planted.name:
            return None
        return spec_from_file_location(name, self._planted.path, loader=self._planted)


def is_noticed(tests: Sequence[Sequence[str]], planted: _Planted | None = None) -> bool:
    """True when the tests of a fork, one group of files after another, do not all pass."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] != 0
    status = 1
    with contextlib.suppress(BaseException):
        resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S))
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        if planted:
            sys.meta_path.insert(0, _Finder(planted))
        asked = ["-x", "-q", "-p", "no:cacheprovider", "-n", "0"]
        status = any(pytest.main([*asked, *group]) for group in tests)
    os._exit(status)


def judging_tests(path: Path) -> list[list[str]]:
    """The judge's tests in groups, those named for this part of it first: most mutants are
    found there, and nothing else need be loaded.
    """
    parts = path.relative_to(JUDGE).with_suffix("").parts
    for part, patterns in APART.items():
        if part in parts:
            return _files(*patterns)
    slow = set(chain(*(chain(*_files(*patterns)) for patterns in APART.values())))
    groups = _files(*(f"test_{part}*.py" for part in parts), "test_*.py")
    groups[-1].append(str(TESTS / "hostile" / "test_planted.py"))
    quick = [[file for file in group if file not in slow] for group in groups]
    return [group for group in quick if group]


def _files(*patterns: str) -> list[list[str]]:
    """Tests of the judge by pattern, each file once."""
    seen: set[str] = set()
    out = []
    for pattern in patterns:
        group = [str(f) for f in sorted((TESTS / "scores").glob(pattern))]
        out.append([file for file in group if file not in seen])
        seen |= set(group)
    return out


def main() -> int:
    """Sample, plant, count."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--count", type=int, default=150)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="files with this in their path")
    asked = parser.parse_args()
    files = [
        p for p in sorted(JUDGE.rglob("*.py")) if asked.only in str(p.relative_to(JUDGE))
    ]
    suites = {str(sorted(chain(*tests))): tests for tests in map(judging_tests, files)}
    for tests in suites.values():
        if is_noticed(tests):
            print(f"already failing: {tests}")
            return 2
    everywhere = [
        Mutant(path, at)
        for path in files
        for at in range(len(changes(ast.parse(path.read_text(encoding="utf-8")))))
    ]
    chosen = np.random.default_rng(asked.seed).permutation(len(everywhere))[: asked.count]
    print(f"{len(chosen)} of {len(everywhere)} mutants, seed {asked.seed}; not found:")
    found = 0
    for done, k in enumerate(chosen.tolist(), 1):
        mutant = everywhere[k]
        tree, told = mutated(mutant.path.read_text(encoding="utf-8"), mutant.at)
        if is_noticed(judging_tests(mutant.path), _Planted(mutant.path, tree)):
            found += 1
        else:
            print(f"{mutant.path.relative_to(JUDGE)}:{told}  [{done}]", flush=True)
    print(f"{found} of {len(chosen)} found: {found / len(chosen):.0%}")
    return found < WANTED * len(chosen)


if __name__ == "__main__":
    sys.exit(main())
