"""What happens in each frame, in words for the sheet and the page."""

from __future__ import annotations

import numpy as np

from panelbeater.exports.compose import corners
from panelbeater.geometry.frames import apply
from panelbeater.geometry.stage import piece_transforms
from panelbeater.terms.arrays import Floats
from panelbeater.terms.figure import BONE_IDS, BONE_TREE, CONTROLLERS, Controller
from panelbeater.terms.rig import Rig, Sample
from panelbeater.terms.timing import FrameSpan

FLASH_CAUTION = (
    "Caution: moving and flashing pictures can trigger seizures in people with "
    "photosensitive epilepsy."
)
LIMB_NAMES: dict[Controller, str] = {
    "arm_l": "left arm",
    "arm_r": "right arm",
    "leg_l": "left leg",
    "leg_r": "right leg",
    "waist": "waist",
    "torso": "torso",
    "head": "head",
}
TURNING = 0.01
"""Radians a frame below which a bone is as good as still (about half a degree)."""
TRAVELLING = 0.001
"""Share of the figure's height a frame below which the body is as good as still."""
NAMED = 3
"""Pieces named in one cell before the rest are only counted."""


def facts(rig: Rig) -> str:
    """Length and frame rate in words."""
    shot = rig.shot
    return (
        f"{len(rig.drawing.pieces)} pieces, {shot.n_frames} frames at {shot.fps} a second "
        f"({shot.n_frames / shot.fps:.3g} s)"
    )


def time_code(frame: int, fps: int) -> str:
    """Whole seconds and frames since the start, s:ff."""
    return f"{frame // fps}:{frame % fps:02d}"


def way(rig: Rig) -> str:
    """From what to what the shot plays."""
    robot = "robot"
    if rig.shot.only:
        names: dict[str, str] = {str(name): told for name, told in LIMB_NAMES.items()}
        robot = f"open {' and '.join(names[limb] for limb in rig.shot.only)}"
    ends = (robot, "vehicle") if rig.shot.reverse else ("vehicle", robot)
    return f"from {ends[0]} to {ends[1]}"


def piece_steps(rig: Rig, sample: Sample) -> Floats:
    """Farthest way any corner of a piece goes into each frame; (n_times, n_pieces)."""
    transforms = piece_transforms(rig, sample)
    steps = np.zeros(transforms.shape[:2])
    for i, piece in enumerate(rig.drawing.pieces):
        placed = apply(transforms[:, i], corners(piece.outline))  # (n_times, n_points, 2)
        steps[1:, i] = np.linalg.norm(np.diff(placed, axis=0), axis=-1).max(axis=1)
    return steps


def actions(rig: Rig, sample: Sample) -> list[str]:
    """One short phrase a frame: what the body does, who leaves, who lands, or 'hold'."""
    still = TRAVELLING * rig.figure.height
    moving = (piece_steps(rig, sample) > still).sum(axis=1)
    body = _body_words(rig)
    phrases = []
    for frame in range(len(sample.stage_from_piece)):
        words = [
            *body[frame],
            *_naming(
                [t.piece for t in rig.tracks if t.start == frame < t.end], "leaves", "leave"
            ),
            *_naming(
                [t.piece for t in rig.tracks if t.start < frame == t.end], "lands", "land"
            ),
        ]
        if not words and moving[frame]:
            words = [f"{moving[frame]} piece{'s' if moving[frame] > 1 else ''} moving"]
        phrases.append("; ".join(words) if words else "hold")
    return phrases


def body_moves(rig: Rig) -> list[FrameSpan]:
    """Spans in which the body does anything, so that the rest can be seen as holds."""
    busy = [bool(words) for words in _body_words(rig)]
    edges = np.flatnonzero(np.diff([False, *busy, False])).tolist()
    return [
        FrameSpan(start, stop) for start, stop in zip(edges[::2], edges[1::2], strict=True)
    ]


def _naming(names: list[str], one: str, many: str) -> list[str]:
    if not names:
        return []
    rest = [f"{len(names) - NAMED} more"] if len(names) > NAMED else []
    listed = ", ".join([*names[:NAMED], *rest])
    return [f"{listed} {one if len(names) == 1 else many}"]


def _body_words(rig: Rig) -> list[list[str]]:
    """Per frame, what root and controllers do."""
    action = rig.action
    n_frames = len(action.root)
    rise = np.diff(action.root[:, 1], prepend=action.root[:1, 1]) / rig.figure.height
    turning = np.abs(np.diff(action.turns, axis=0, prepend=action.turns[:1]))
    growing = np.abs(np.diff(action.scales, axis=0, prepend=action.scales[:1])).max(axis=-1)
    active = (turning > TURNING) | (growing > TURNING)  # (n_frames, n_bones)
    limbs = {
        name: active[:, [BONE_IDS.index(b) for b, _, c in BONE_TREE if c == name]].any(
            axis=1
        )
        for name in CONTROLLERS
    }
    opening = _unfolding(rig)
    words: list[list[str]] = []
    for f in range(n_frames):
        now = []
        if abs(rise[f]) > TRAVELLING:
            now.append("body rises" if rise[f] < 0 else "body sinks")
        moving = [name for name in CONTROLLERS if limbs[name][f]]
        legs = [name for name in moving if name.startswith("leg")]
        now += _pair(legs, "leg", "open" if opening[f] >= 0 else "fold")
        now += _pair([name for name in moving if name.startswith("arm")], "arm", "swing")
        now += [f"{name} turns" for name in moving if name in ("waist", "torso", "head")]
        words.append(now)
    return words


def _unfolding(rig: Rig) -> Floats:
    """Positive where the knees straighten into a frame; (n_frames,)."""
    knees = [BONE_IDS.index("shank_l"), BONE_IDS.index("shank_r")]
    standing = rig.action.turns[0 if rig.shot.reverse else -1, knees]
    away = np.abs(rig.action.turns[:, knees] - standing).sum(axis=1)
    return np.asarray(-np.diff(away, prepend=away[:1]), dtype=np.float64)


def _pair(both: list[Controller], limb: str, verb: str) -> list[str]:
    """Both limbs in one word, or the one that moves by its name."""
    if len(both) == 2:
        return [f"{limb}s {verb}"]
    return [f"{LIMB_NAMES[name]} {verb}s" for name in both]
