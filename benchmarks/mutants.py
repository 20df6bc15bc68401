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
    "flash": ("test_flash*.py",),
    "between": ("test_between*.py", "test_slides_and_jumps.py"),
}
"""Parts of the judge with slow tests of their own, which no other part needs."""
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


def is_noticed(tests: Sequence[str], planted: _Planted | None = None) -> bool:
    """True when the tests of a fork do not all pass."""
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
        status = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "-n", "0", *tests]))
    os._exit(status)


def judging_tests(path: Path) -> list[str]:
    """The judge's tests, those named for this part of it first."""
    parts = path.relative_to(JUDGE).with_suffix("").parts
    for part, patterns in APART.items():
        if part in parts:
            return [str(t) for p in patterns for t in sorted((TESTS / "scores").glob(p))]
    apart = {t for ps in APART.values() for p in ps for t in (TESTS / "scores").glob(p)}
    files = [t for t in sorted((TESTS / "scores").glob("test_*.py")) if t not in apart]
    files.sort(key=lambda file: not any(part in file.stem for part in parts))
    return [str(file) for file in (*files, TESTS / "hostile" / "test_planted.py")]


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
    for tests in dict.fromkeys(tuple(sorted(judging_tests(path))) for path in files):
        if is_noticed(tests):
            print(f"already failing: {' '.join(tests)}")
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
