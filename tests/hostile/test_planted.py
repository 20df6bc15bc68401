"""Defects planted in a shot that keeps every promise are found by the judge."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from shapely import box
from shapely.affinity import rotate, scale, translate

from panelbeater.errors import DrawingError
from panelbeater.scores import parse_frames, score_shot
from tests.scores.shots import Look, Scene, still_scene

N_PLANTED = 1000 if os.environ.get("PANELBEATER_PROFILE") == "deep" else 200
N_FRAMES = 9


def _scene() -> Scene:
    """The still shot with a lamp on the door; every promise is kept."""
    scene = still_scene(N_FRAMES)
    scene.looks["lamp"] = [Look(box(12, 45, 20, 55), depth=3)] * N_FRAMES
    return scene


def _piece(scene: Scene, rng: np.random.Generator) -> str:
    return str(rng.choice(sorted(scene.looks)))


def _away(rng: np.random.Generator, least: float, most: float) -> tuple[float, float]:
    turn, far = rng.uniform(0, 2 * np.pi), rng.uniform(least, most)
    return far * np.cos(turn), far * np.sin(turn)


def _thrown(scene: Scene, rng: np.random.Generator) -> None:
    """Far off the body in one frame."""
    x = rng.uniform(60, 500) * rng.choice([-1, 1])
    scene.shift(_piece(scene, rng), int(rng.integers(1, N_FRAMES - 2)), x, -1.0)


def _first_moved(scene: Scene, rng: np.random.Generator) -> None:
    piece = _piece(scene, rng)
    # The header keeps the outline as it was handed in.
    scene.inputs[piece] = scene.looks[piece][0].outline
    scene.shift(piece, 0, *_away(rng, 0.01, 5))


def _last_moved(scene: Scene, rng: np.random.Generator) -> None:
    scene.shift(_piece(scene, rng), N_FRAMES - 1, *_away(rng, 0.01, 3))


def _first_turned(scene: Scene, rng: np.random.Generator) -> None:
    piece = _piece(scene, rng)
    look = scene.looks[piece][0]
    scene.inputs[piece] = look.outline
    scene.change(piece, 0, outline=rotate(look.outline, rng.uniform(0.1, 80)))


def _depth_swapped(scene: Scene, rng: np.random.Generator) -> None:
    at = int(rng.integers(1, N_FRAMES - 1))
    for frame in range(at, N_FRAMES):
        scene.change("lamp", frame, depth=1)
        scene.change("door", frame, depth=3)


def _one_depth(scene: Scene, rng: np.random.Generator) -> None:
    scene.change("lamp", int(rng.integers(1, N_FRAMES)), depth=1)


def _shrunk(scene: Scene, rng: np.random.Generator) -> None:
    """Smaller than it says it is."""
    piece, frame = _piece(scene, rng), int(rng.integers(1, N_FRAMES - 2))
    less = rng.uniform(0.6, 0.95)
    look = scene.looks[piece][frame]
    scene.change(piece, frame, outline=scale(look.outline, less, less))


def _scale_cheated(scene: Scene, rng: np.random.Generator) -> None:
    """Says it is another size than it is."""
    more = rng.choice([rng.uniform(0.6, 0.95), rng.uniform(1.05, 1.4)])
    frame = int(rng.integers(1, N_FRAMES - 2))
    scene.change(_piece(scene, rng), frame, scale=float(more))


def _crushed(scene: Scene, rng: np.random.Generator) -> None:
    """Smaller than any piece may get, and it says so."""
    piece, frame = _piece(scene, rng), int(rng.integers(1, N_FRAMES - 2))
    less = float(rng.uniform(0.1, 0.5))
    outline = scale(scene.looks[piece][frame].outline, less, less)
    scene.change(piece, frame, outline=outline, scale=less)


def _dropped_piece(scene: Scene, rng: np.random.Generator) -> None:
    scene.absent.add((_piece(scene, rng), int(rng.integers(0, N_FRAMES))))


def _wrong_bone(scene: Scene, _rng: np.random.Generator) -> None:
    scene.change("wheel", N_FRAMES - 1, bone="torso")


def _sunk(scene: Scene, rng: np.random.Generator) -> None:
    scene.shift("wheel", int(rng.integers(1, N_FRAMES - 2)), 0, rng.uniform(0.3, 20))


def _slipped(scene: Scene, rng: np.random.Generator) -> None:
    """The planted foot drifts after it has landed."""
    foot = scene.bones["foot_l"][0]
    drift = rng.uniform(1, 8) * rng.choice([-1, 1])
    steps = [(0, 0), (0, -20), (0, 0), (0, 0), (0, 0)]
    steps += [(drift, 0)] * (N_FRAMES - len(steps))
    scene.bones["foot_l"] = [translate(foot, x, y) for x, y in steps]


def _leaking(scene: Scene, rng: np.random.Generator) -> None:
    x = rng.uniform(10.5, 30) * rng.choice([-1, 1])
    scene.bones["torso"][0] = translate(scene.bones["torso"][0], x, 0)


PLANTS: tuple[Callable[[Scene, np.random.Generator], None], ...] = (
    _thrown, _first_moved, _last_moved, _first_turned, _depth_swapped, _one_depth, _shrunk,
    _scale_cheated, _crushed, _dropped_piece, _wrong_bone, _sunk, _slipped, _leaking,
)  # fmt: skip


def _is_found(lines: list[str]) -> bool:
    try:
        return not score_shot(parse_frames(lines)).kept
    except DrawingError:
        return True


def _frame_dropped(lines: list[str], rng: np.random.Generator) -> list[str]:
    at = int(rng.integers(1, len(lines)))
    return lines[:at] + lines[at + 1 :]


def _frame_twice(lines: list[str], rng: np.random.Generator) -> list[str]:
    at = int(rng.integers(1, len(lines)))
    return lines[: at + 1] + lines[at:]


def _frames_swapped(lines: list[str], rng: np.random.Generator) -> list[str]:
    a, b = sorted(rng.choice(np.arange(1, len(lines)), 2, replace=False))
    return [*lines[:a], lines[b], *lines[a + 1 : b], lines[a], *lines[b + 1 :]]


def _stranger(lines: list[str], rng: np.random.Generator) -> list[str]:
    at = int(rng.integers(1, len(lines)))
    row = json.loads(lines[at])
    row["pieces"][0]["id"] = "nobody"
    return [*lines[:at], json.dumps(row), *lines[at + 1 :]]


EDITS = (_frame_dropped, _frame_twice, _frames_swapped, _stranger)


@cache
def _good_lines() -> tuple[str, ...]:
    return tuple(_scene().lines())


def test_the_shot_without_defects_keeps_every_promise() -> None:
    assert score_shot(parse_frames(_good_lines())).kept


@pytest.mark.slow
def test_nearly_every_planted_defect_is_found() -> None:
    missed = []
    for seed in range(N_PLANTED):
        rng = np.random.default_rng(seed)
        at = seed % (len(PLANTS) + len(EDITS))
        if at < len(PLANTS):
            scene = _scene()
            PLANTS[at](scene, rng)
            lines, name = scene.lines(), PLANTS[at].__name__
        else:
            edit = EDITS[at - len(PLANTS)]
            lines, name = edit(list(_good_lines()), rng), edit.__name__
        if not _is_found(lines):
            missed.append((name, seed))
    assert len(missed) <= 0.01 * N_PLANTED, missed
