"""Every piece has landed on its bone when the shot ends."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.likeness import corners_match
from panelbeater.scores.overlay import unlike
from panelbeater.scores.result import Break, Promise
from panelbeater.scores.tracks import Tracks


def judge_landing(tracks: Tracks) -> Promise:
    """Landing, as far as frames can show it: count of pieces that fail, must be 0.

    Where only some limbs open, a piece whose region is not among the open ones has landed
    when it still stands as it was drawn.

    A piece has landed when at the last frame it is there, names a region of the figure
    and a bone of the same controller, lies within 0.005 H of that bone's shape, and keeps
    its last outline to 1e-6 H through the last two frames (metrics.md: exact; the signs are
    the project's).
    """
    controllers = {region.id: region.controller for region in tracks.shot.regions}
    last = tracks.shot.frames[-1]
    bones = {bone.id: bone for bone in last.bones}
    drawn = {piece.id: piece for piece in last.pieces}
    broken = []
    for at, name in enumerate(tracks.piece_ids):
        piece = drawn.get(name)
        opens = piece and (not tracks.shot.only or piece.region in controllers)
        if piece and not opens:
            fault = _left_its_spot(tracks, at)
        elif piece is None or tracks.area[-1, at] <= 0:
            fault = "is not there"
        elif piece.region not in controllers:
            fault = "has no region of the figure"
        elif controllers[piece.region] != bones[piece.bone].controller:
            fault = f"rides {piece.bone} but is meant for {piece.region}"
        else:
            fault = _misplaced(tracks, at)
        if fault:
            where = (float(tracks.frames[-1]),)
            broken.append(Break(where, (name,), f"{fault} when the shot ends"))
    return Promise("landing", float(len(broken)), 0.0, tuple(broken))


def _left_its_spot(tracks: Tracks, at: int) -> str:
    """A piece of a limb that stays shut stands where it was drawn."""
    off = float(shapely.area(unlike(tracks.outlines[-1, at], tracks.inputs[at])))
    allowed = tracks.limits.vehicle_error * float(tracks.inputs[at].area)
    return "" if off <= allowed else "has left the vehicle though its limb stays shut"


def _misplaced(tracks: Tracks, at: int) -> str:
    bone = int(tracks.bone_of[-1, at])
    gap = float(shapely.distance(tracks.outlines[-1, at], tracks.bones[-1, bone]))
    # A bone without a shape has no distance (nan): nothing can sit on it.
    if not gap <= tracks.limits.body_contact * tracks.height:
        return f"does not touch {tracks.bone_ids[bone]}"
    hold = min(tracks.limits.landing_hold_frames, len(tracks.frames))
    allowed = tracks.limits.landing * tracks.height
    for row in range(len(tracks.frames) - hold, len(tracks.frames) - 1):
        if _shift(tracks, row, at) > allowed:
            return "still moves"
    return ""


def _shift(tracks: Tracks, row: int, at: int) -> float:
    """Largest distance of a corner to where it stands in the last frame."""
    one, end = tracks.drawn[row, at], tracks.drawn[-1, at]
    if one.is_empty:
        return float("inf")
    if not corners_match(one, end):
        return float(shapely.hausdorff_distance(one, end))
    step = shapely.get_coordinates(one) - shapely.get_coordinates(end)
    return float(np.hypot(step[:, 0], step[:, 1]).max())
