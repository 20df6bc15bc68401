"""Legs that step out, plant their feet and push the body up."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np
from scipy.ndimage import convolve1d

from panelbeater.kinematics.chain import Skeleton
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.figure import BONE_IDS

_SOFTENER = np.hanning(11)[1:-1] / np.hanning(11)[1:-1].sum()
"""Weights of nine frames; a knee that snaps within fewer reads as a pop."""

CALM = 0.45
"""Radians a leg may swing in a frame; half a turn eased over a step of ten frames takes 0.6
at its fastest."""
STRETCH = 5.0
"""Radians of haste for a leg drawn at twice its length."""
BLENDS = (0.25, 0.5, 0.75, 1.0)
"""Shares of a swing that are tried."""
SWELLS = (0.0, 0.2, 0.4)
"""How much wider than its ends a swing may be half-way, share of the leg."""
SNAP = 0.3
"""Radians at which a knee may still go over to its other side."""

_STIR = 1e-7
"""Radians per frame below which a knee is at rest: rounding is far smaller."""


def reach_foot(
    skeleton: Skeleton,
    side: str,
    hip: Points,
    hip_angle: Floats,
    ankle: Points,
    knee: Floats,
    length_min: float,
) -> tuple[Floats, Floats, Floats]:
    """Two-bone inverse kinematics that foreshortens before it bends.

    hip, ankle : (n_frames, 2), stage; hip_angle : (n_frames,), angle of the waist bone;
    knee : (n_frames,), wished turn of the shank from the thigh. Gives the thigh's turn from
    the waist, the shank's turn from the thigh and the length scale of both, each
    (n_frames,). The wished knee is kept while one common scale between length_min and 1
    closes the leg; beyond that the law of cosines bends or straightens the knee.
    """
    upper = skeleton.offsets[BONE_IDS.index(f"shank_{side}")]  # in the thigh's frame
    lower = skeleton.offsets[BONE_IDS.index(f"foot_{side}")]  # in the shank's frame
    a, b = float(np.hypot(*upper)), float(np.hypot(*lower))
    lean_a, lean_b = np.arctan2(upper[1], upper[0]), np.arctan2(lower[1], lower[0])
    bend = knee + lean_b - lean_a  # angle between the two links
    reach = ankle - hip
    distance = np.hypot(reach[:, 0], reach[:, 1])
    wished = np.sqrt(a * a + b * b + 2 * a * b * np.cos(bend))
    scale = np.clip(distance / wished, length_min, 1.0)
    cosine = ((distance / scale) ** 2 - a * a - b * b) / (2 * a * b)
    closed = np.arccos(np.clip(cosine, -1.0, 1.0))
    is_kept = np.isclose(scale * wished, distance, rtol=1e-9)
    deep = np.where(is_kept, np.abs(bend), closed)
    bend = deep * _bent_to(np.where(bend < 0, -1.0, 1.0), deep)
    # Where the wish gives way to the law of cosines the knee would snap; softened, and
    # closed by the length alone, which may then pass its limits by a hair.
    soft = _softened(bend)
    scale = distance / np.sqrt(a * a + b * b + 2 * a * b * np.cos(soft))
    thigh = np.arctan2(reach[:, 1], reach[:, 0]) - np.arctan2(
        b * np.sin(soft), a + b * np.cos(soft)
    )
    thigh = np.unwrap(thigh - lean_a - hip_angle)
    return thigh, soft - lean_b + lean_a, scale


def _bent_to(wished: Floats, deep: Floats) -> Floats:
    """(n_frames,), the side each knee bends to, 1 or -1: as wished, but a knee bent deeply
    stays on its side until it is nearly straight; from one to the other it would snap.

    wished : (n_frames,); deep : (n_frames,), radians between the links of the leg.
    """
    side = wished.copy()
    flips = (np.flatnonzero(np.diff(wished)) + 1).tolist()
    for flip, end in itertools.pairwise([*flips, len(side)]):
        if deep[flip - 1 : flip + 1].min() > SNAP:
            straightest = flip + int(deep[flip:end].argmin())
            side[flip:straightest] = side[flip - 1]
    return side


def step_paths(
    folded: Points, stood: Points, hip: Points, share: Floats
) -> Iterator[Points]:
    """Ways (n_frames, 2) of the ankle from where it is folded to where it stands: straight,
    then with more and more of a swing about the hip, and wider.

    folded, stood : (2,), stage; hip : (n_frames, 2), stage; share : (n_frames,), of the
    step that is done. A foot that passes close by its hip spins the leg round within a
    frame or two; a swing goes round it.
    """
    straight = folded + share[:, None] * (stood - folded)
    yield straight
    here, there = folded - hip, stood - hip
    first, last = (np.unwrap(np.arctan2(v[:, 1], v[:, 0])) for v in (here, there))
    # The shorter way round at the middle of the step, and the same way all through it.
    middle = int(np.abs(share - 0.5).argmin())
    first += 2 * np.pi * np.round((last - first)[middle] / (2 * np.pi))
    angle = first + share * (last - first)
    way = np.stack([np.cos(angle), np.sin(angle)], axis=-1)  # (n_frames, 2)
    near, far = np.hypot(*here.T), np.hypot(*there.T)
    for swell in SWELLS:
        out = swell * 4 * share * (1 - share) * max(near.max(), far.max())
        swing = hip + ((1 - share) * near + share * far + out)[:, None] * way
        # No lower than the ground allows, or the hips are lifted and the leg is stretched.
        low = np.maximum(straight[:, 1], stood[1])
        swing[:, 1] = np.minimum(swing[:, 1], low)
        for blend in BLENDS:
            yield straight + blend * (swing - straight)


def haste(waist: Floats, thigh: Floats, shank: Floats, length: Floats) -> float:
    """How hurried a leg looks, in radians: the most that a bone of it turns in a frame, or
    the stretch that looks as bad.

    waist : (n_frames,), its stage angle; thigh, shank, length : as `reach_foot` gives them.
    """
    upper = waist + thigh
    turns = np.abs(np.diff([upper, upper + shank], axis=1))
    return max(float(turns.max(initial=0.0)), STRETCH * (float(length.max()) - 1.0))


def _softened(bend: Floats) -> Floats:
    """(n_frames,) without snaps; holds, at both ends and between, stay as they are."""
    soft: Floats = convolve1d(bend, _SOFTENER, mode="nearest")
    stirs = np.abs(np.diff(bend)) > _STIR  # (n_frames - 1,)
    if not stirs.any():
        return soft
    first, last = np.flatnonzero(stirs)[[0, -1]]
    soft[: first + 1], soft[last + 1 :] = bend[0], bend[-1]
    held = ~np.concatenate([[False], stirs]) & ~np.concatenate([stirs, [False]])
    if held[first + 1 : last + 1].any():
        frames = np.arange(len(bend))
        far = np.abs(frames[:, None] - frames[held]).min(axis=1)  # frames to a held one
        share = np.minimum(far / len(_SOFTENER), 1.0)
        inner = slice(first + 1, last + 1)
        soft[inner] = (bend + share * (soft - bend))[inner]
    return soft


def settled(turns: Floats, rest: float) -> Floats:
    """(n_frames,) turns without whole-turn jumps, ending within half a turn of `rest`.

    An arc tangent jumps from one half turn to the other; between two frames on either side
    the limb would spin right round.
    """
    smooth = np.unwrap(turns)
    out: Floats = nearest(smooth, smooth[-1:], np.array([rest]))
    return out


def nearest(turns: Floats, seen: Floats, wanted: Floats) -> Floats:
    """`turns`, all moved by the whole turns that bring `seen` nearest to `wanted`."""
    out: Floats = turns + 2 * np.pi * np.round((wanted - seen) / (2 * np.pi))
    return out
