"""Small invented people for the figure tests, drawn as SVG text."""

from __future__ import annotations

from pathlib import Path

from panelbeater.figure import read_figure
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import Bone, Figure

HEAD = '<circle cx="100" cy="16" r="14"/>'
NECK = '<rect x="94" y="26" width="12" height="14"/>'
TRUNK = '<path d="M76 36H124L118 100H82Z"/>'
LEGS = (
    '<path d="M82 96H98V196H84Z"/><path d="M102 96H118L116 196H102Z"/>'
    '<rect x="82" y="94" width="36" height="8"/>'
)


def limb(points: str, width: float, *, more: str = "") -> str:
    """A rounded stroke, drawn as people draw arms; `points` as in a polyline."""
    return (
        f'<polyline points="{points}" fill="none" stroke="#345" stroke-width="{width}" '
        f'stroke-linecap="round" stroke-linejoin="round" {more}/>'
    )


def arms(points: str, width: float = 11) -> str:
    """The figure's left arm (larger x) and its mirror image about x = 100."""
    pairs = [tuple(map(float, pair.split(","))) for pair in points.split()]
    mirrored = " ".join(f"{200 - x:g},{y:g}" for x, y in pairs)
    return limb(points, width) + limb(mirrored, width)


A_POSE = HEAD + NECK + TRUNK + LEGS + arms("121,44 138,76 150,108")
T_POSE = HEAD + NECK + TRUNK + LEGS + arms("118,44 195,44")
ONE_BLOCK = '<circle cx="100" cy="18" r="17"/><path d="M72 44H128V124H118V198H82V124H72Z"/>'


def write(tmp_path: Path, inside: str, *, name: str = "figure.svg") -> Path:
    """Write an SVG round `inside`; gives its path."""
    path = tmp_path / name
    head = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 200">'
    path.write_text(f"{head}{inside}</svg>", encoding="utf-8")
    return path


def read(tmp_path: Path, inside: str) -> Figure:
    """Write and read a figure."""
    return read_figure(write(tmp_path, inside))


def is_same(one: Shape, other: Shape, *, within: float = 1e-6) -> bool:
    """True when the shapes differ by at most `within` of their area."""
    return bool(one.symmetric_difference(other).area <= within * other.area)


def by_id(figure: Figure) -> dict[str, Bone]:
    """Bones by their ids."""
    return {bone.id: bone for bone in figure.bones}
