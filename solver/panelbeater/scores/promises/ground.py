"""Nothing sinks into the ground, and a foot that has landed stays where it is."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.arrays import Shapes
from panelbeater.scores.overlay import shared
from panelbeater.scores.result import Break, Promise
from panelbeater.scores.tracks import Tracks
from panelbeater.scores.words import same_frames
from panelbeater.terms.arrays import Floats, Ints
from panelbeater.terms.drawing import Shape

FOOT = "foot_"


def judge_ground(tracks: Tracks) -> Promise:
    """Ground: things below the ground line by more than 0.002 H, and feet that slide.

    Count over things and frames, must be 0 (metrics.md; the foot rule as in
    `planted_slide`, limit 0.005 H, is the project's).
    """
    sunk = _sunk(tracks)
    broken = [
        Break(frames, names, "below the ground line") for frames, names in same_frames(sunk)
    ]
    slides = _slides(tracks)
    broken += [
        Break(frames, names, "slides after it has landed")
        for frames, names in same_frames(slides)
    ]
    n_hits = sum(map(len, sunk.values())) + sum(map(len, slides.values()))
    return Promise("ground", float(n_hits), 0.0, tuple(broken))


def _sunk(tracks: Tracks) -> dict[str, list[float]]:
    floor = tracks.shot.ground + tracks.limits.below_ground * tracks.height
    pieces = (shapely.bounds(tracks.outlines)[..., 3] > floor) & tracks.visible
    bones = shapely.bounds(tracks.bones)[..., 3] > floor
    columns = [*zip(tracks.piece_ids, pieces.T, strict=True)]
    columns += zip((f"bone {name}" for name in tracks.bone_ids), bones.T, strict=True)
    return {
        name: [float(frame) for frame in tracks.frames[column]] for name, column in columns
    }


def _slides(tracks: Tracks) -> dict[str, list[float]]:
    out = {}
    for name, (slide, _) in _planted(tracks).items():
        far = slide > tracks.limits.foot_slide * tracks.height
        out[f"bone {name}"] = [float(frame) for frame in tracks.frames[far]]
    return out


def stances(tracks: Tracks) -> tuple[tuple[str, int, int], ...]:
    """Foot, and the whole frames it is planted in and leaves or ends in, as numbered."""
    out = []
    for name, (_, stance) in _planted(tracks).items():
        for one in range(1, int(stance.max(initial=0)) + 1):
            frames = tracks.frames[stance == one]
            out.append((name, int(frames[0]), int(frames[-1])))
    return tuple(out)


def _planted(tracks: Tracks) -> dict[str, tuple[Floats, Ints]]:
    """What `planted_slide` says of each foot."""
    limits = tracks.limits
    return {
        name: planted_slide(
            tracks.bones[:, at],
            tracks.shot.ground,
            contact=limits.ground_contact * tracks.height,
            rest=limits.foot_rest * tracks.height,
        )
        for at, name in enumerate(tracks.bone_ids)
        if name.startswith(FOOT)
    }


def planted_slide(
    foot: Shapes, ground: float, *, contact: float, rest: float
) -> tuple[Floats, Ints]:
    """How far a planted foot has slid at each frame, and which stance it is in.

    A foot has contact while its lowest point is within `contact` above the ground line or
    below it. Its sole is the part of its outline within `contact` of its own lowest point;
    the sole's place is the middle of that part's extent along the ground. A foot that has
    moved before (by more than `rest` in one frame) is planted from the first frame after
    which its sole moves at most `rest` a frame for two steps on end, with contact; it stays
    planted while it has contact. Slide is the distance along the ground from where it was
    planted. A foot that lifts off is free, and may be planted again elsewhere.

    Returns slide (n_frames,), drawing units, 0 where free, and stance (n_frames,), 0 where
    free, else counting plantings from 1.
    """
    n_frames = len(foot)
    place = np.array([_sole(shape, contact) for shape in foot])  # (n_frames, 2)
    touches = place[:, 1] >= ground - contact
    steps = np.hypot(*np.diff(place, axis=0).T)  # (n_frames - 1,)
    quiet = steps <= rest  # nan, no foot there, is never quiet
    rests = np.zeros(n_frames, dtype=np.bool_)
    rests[:-2] = quiet[:-1] & quiet[1:] & touches[1:-1] & touches[2:]
    slide = np.zeros(n_frames)
    stance = np.zeros(n_frames, dtype=np.int64)
    n_stances, planted_at, has_moved = 0, -1, False
    for at in range(n_frames):
        if not touches[at]:
            planted_at = -1
        elif planted_at < 0 and has_moved and rests[at]:
            planted_at = at
            n_stances += 1
        if planted_at >= 0:
            slide[at] = abs(place[at, 0] - place[planted_at, 0])
            stance[at] = n_stances
        if at < n_frames - 1 and steps[at] > rest:
            has_moved = True
    return slide, stance


def _sole(shape: Shape, contact: float) -> tuple[float, float]:
    """Middle of the sole along x, and the lowest y; nan for an empty shape."""
    if shape.is_empty:
        return np.nan, np.nan
    left, _, right, low = shape.bounds
    strip = shapely.box(left, low - contact, right, low)
    x0, _, x1, _ = shared(shape, strip).bounds
    return 0.5 * (x0 + x1), low
