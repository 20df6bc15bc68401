"""A parcel trolley of eight pieces that stands up, small enough to reason about by eye."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon, box, union_all

from panelbeater.geometry.frames import moved, polar, rigid
from panelbeater.geometry.stage import drawn_centroids
from panelbeater.terms.arrays import Affines, Floats
from panelbeater.terms.assignment import Cover
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Drawing, Kind, Piece, Redrawing, Shape
from panelbeater.terms.figure import BONE_IDS, BONE_TREE, Bone, Figure
from panelbeater.terms.pose import Fold, Pose
from panelbeater.terms.rig import Rig, Sample, Track
from panelbeater.terms.timing import FrameSpan, ShotOptions

GROUND = 150.0
JOINTS = {
    "waist": ((100, 75), (100, 62)), "torso": ((100, 62), (100, 27)),
    "head": ((100, 27), (100, 4)), "upper_arm_l": ((120, 30), (124, 53)),
    "forearm_l": ((124, 53), (126, 75)), "hand_l": ((126, 75), (126, 87)),
    "upper_arm_r": ((80, 30), (76, 53)), "forearm_r": ((76, 53), (74, 75)),
    "hand_r": ((74, 75), (74, 87)), "thigh_l": ((109, 76), (111, 109)),
    "shank_l": ((111, 109), (111, 140)), "foot_l": ((111, 140), (124, 146)),
    "thigh_r": ((91, 76), (89, 109)), "shank_r": ((89, 109), (89, 140)),
    "foot_r": ((89, 140), (76, 146)),
}  # fmt: skip
WIDTHS = {"torso": 17.0, "waist": 15.0, "head": 10.0, "thigh_l": 8.0, "thigh_r": 8.0}
BEND = Bend(axis=0.1, curvature=1.2 / 66)
"""Over the tub's length more than a radian."""
FOLDED = {
    "waist": 1.5, "torso": 0.15, "head": -0.2, "upper_arm_l": 0.2, "forearm_l": -2.4,
    "upper_arm_r": -0.2, "forearm_r": 2.4, "thigh_l": -1.6, "shank_l": 2.4,
    "thigh_r": -1.4, "shank_r": 2.4,
}  # fmt: skip
"""Radians added to each standing turn in the fold."""


def _shape(shape: object) -> Shape:
    if not isinstance(shape, Polygon | MultiPolygon):
        raise TypeError(type(shape).__name__)
    return shape


def small_figure() -> Figure:
    bones: list[Bone] = []
    taken: Shape = Polygon()
    for name, parent, controller in BONE_TREE:
        line = LineString(JOINTS[name])
        width = WIDTHS.get(name, 6.0)
        area = _shape(line.buffer(width, cap_style="square").difference(taken))
        taken = _shape(taken.union(area))
        start, end = np.array(JOINTS[name], dtype=np.float64)
        body = _shape(line.buffer(0.55 * width, cap_style="round", quad_segs=4))
        bones.append(Bone(name, controller, parent, start, end, area, body))
    return Figure(silhouette=taken, bones=tuple(bones))


def _piece(
    name: str, kind: Kind, outline: Shape, depth: int, colour: str, detail: str = ""
) -> Piece:
    ring = " ".join(f"{x:g},{y:g}" for x, y in outline.exterior.coords)  # type: ignore[union-attr]
    paint = "url(#d-shade)" if name == "tub" else colour
    artwork = (
        f'<g><polygon points="{ring}" fill="{paint}" stroke="#2b2b2b" stroke-width="1"/>'
        f"{detail}</g>"
    )
    return Piece(name, kind, outline, depth, artwork, colour, signature=kind == "wheel")


def small_drawing() -> Drawing:
    hub = '<circle cx="{}" cy="138" r="4" fill="#c9d2d6"/>'
    handle = '<path d="M112 104h8" stroke="#6b3d12" stroke-width="2" fill="none"/>'
    pieces = (
        _piece("tub", "panel", box(30, 98, 96, 134), 0, "#c8553d"),
        _piece("cab", "panel", box(96, 84, 136, 134), 1, "#e0a458", handle),
        _piece("bonnet", "panel", box(136, 106, 172, 134), 2, "#e0a458"),
        _piece("pane", "window", box(102, 89, 130, 102), 3, "#bcdde0"),
        _piece("lamp", "lamp", box(166, 110, 172, 118), 4, "#fff3b0"),
        _piece("bar", "bumper", box(168, 128, 178, 135), 5, "#56616b"),
        _piece("rear_wheel", "wheel", _shape(Point(54, 138).buffer(12)), 6, "#33383d",
               hub.format(54)),
        _piece("front_wheel", "wheel", _shape(Point(148, 138).buffer(12)), 7, "#33383d",
               hub.format(148)),
    )  # fmt: skip
    defs = (
        '<linearGradient id="d-shade" x1="0" y1="0" x2="0" y2="1">'
        '<stop offset="0" stop-color="#d9694f"/><stop offset="1" stop-color="#8f3524"/>'
        "</linearGradient>"
    )
    return Drawing(pieces, _shape(union_all([p.outline for p in pieces])), defs)


COVERED = {
    "tub": ("torso", (100, 44), 0.0, 0.9), "cab": ("waist", (100, 70), 1.5, 0.7),
    "bonnet": ("thigh_l", (110, 92), 1.6, 0.8), "pane": ("head", (100, 14), 0.0, 0.8),
    "lamp": ("hand_l", (126, 81), 0.4, 1.0), "bar": ("foot_r", (83, 143), 0.0, 1.1),
    "rear_wheel": ("shank_r", (89, 138), 2.0, 0.8),
    "front_wheel": ("shank_l", (111, 138), -2.0, 0.8),
}  # fmt: skip


def small_covers() -> tuple[Cover, ...]:
    return tuple(
        Cover(
            piece=name,
            region=region,
            stage_from_piece=rigid(np.array(at, dtype=float), np.array(turn))
            @ np.diag([scale, scale, 1.0]),
            scale=scale,
            stretch=1.0,
            gain=0.05,
            reason=f"largest piece that fits the {region.replace('_', ' ')}",
        )
        for name, (region, at, turn, scale) in COVERED.items()
    )


def _chain(figure: Figure, root: Floats, turns: Floats, scales: Floats) -> Affines:
    """stage_from_bone by walking the chain; (n_times, n_bones, 3, 3)."""
    frames = np.zeros((len(turns), len(figure.bones), 3, 3))
    standing = _standing(figure)
    for i, bone in enumerate(figure.bones):
        if bone.parent is None:
            frames[:, i] = rigid(root, turns[:, i])
            continue
        p = BONE_IDS.index(bone.parent)
        joint = np.linalg.inv(standing[p]) @ np.array([*bone.start, 1.0])
        offset = joint[None, :2] * scales[:, p]  # (n_times, 2)
        frames[:, i] = frames[:, p] @ rigid(offset, turns[:, i])
    return frames


def _standing(figure: Figure) -> Affines:
    starts = np.array([bone.start for bone in figure.bones])
    along = np.array([bone.end for bone in figure.bones]) - starts
    return rigid(starts, np.arctan2(along[:, 1], along[:, 0]))


def small_action(figure: Figure, n_frames: int) -> Pose:
    angles = polar(_standing(figure)[:, :2, :2])[0]
    parents = [None if b.parent is None else BONE_IDS.index(b.parent) for b in figure.bones]
    stand = np.array([a - (0 if p is None else angles[p]) for a, p in zip(
        angles, parents, strict=True)])  # fmt: skip
    fold = stand + np.array([FOLDED.get(name, 0.0) for name in BONE_IDS])
    # Still for a sixth of the shot at both ends: time to read the vehicle and the robot.
    u = np.clip((np.arange(n_frames) / (n_frames - 1) - 1 / 6) * 1.5, 0, 1)
    ease = (u**3 * (10 - 15 * u + 6 * u * u))[:, None]  # (n_frames, 1)
    squeeze = 0.6 + 0.4 * ease
    scales = np.broadcast_to(squeeze[..., None], (n_frames, len(stand), 2)).copy()
    root = np.array([[82.0, 122.0]]) * (1 - ease) + np.array([[100.0, 75.0]]) * ease
    return Pose(root, fold * (1 - ease) + stand * ease, scales)


def small_rig(
    n_frames: int = 24,
    *,
    order_changes: bool = False,
    pieces_change: bool = False,
    exposure: int = 1,
) -> tuple[Rig, Sample]:
    """The rig and its sample at every whole frame; tracks leave one after another.

    Where `pieces_change` the tub bends; in the middle frame the bonnet gets its robot
    drawing and the bar vanishes.
    """
    drawing, figure, covers = small_drawing(), small_figure(), small_covers()
    action = small_action(figure, n_frames)
    stage_from_bone = _chain(figure, action.root, action.turns, action.scales)
    standing = _standing(figure)
    tracks: list[Track] = []
    placed = np.zeros((n_frames, len(covers), 3, 3))
    for i, cover in enumerate(covers):
        b = BONE_IDS.index(cover.region)
        first = np.linalg.inv(stage_from_bone[0, b]) @ moved(
            *drawn_centroids(drawing.pieces)[i]
        )
        last = np.linalg.inv(standing[b]) @ cover.stage_from_piece
        start, end = 4 + i % 4, n_frames - 6 + i % 3
        channels = np.array([_channels(first), _channels(last)])
        tracks.append(
            Track(cover.piece, cover.region, start, end, np.array([0.0, 1.0]), channels)
        )
        u = np.clip((np.arange(n_frames) - start) / (end - start), 0, 1)
        u = u**3 * (10 - 15 * u + 6 * u * u)
        placed[:, i] = stage_from_bone[:, b] @ _blend(channels, u)
    depth = np.tile(np.arange(len(covers)), (n_frames, 1))
    if order_changes:
        depth[n_frames // 2 :, [0, 1, 2]] = [2, 0, 1]
    fold = Fold(Pose(action.root[0], action.turns[0], action.scales[0]), 0.0, 0.6, 0.6)
    shot = ShotOptions(n_frames=n_frames, exposure=exposure, title="Trolley stands up")
    rig = Rig(drawing, figure, fold, action, tuple(tracks), depth, GROUND, shot)
    still = np.zeros(placed.shape[:2])
    sample = Sample(stage_from_bone, action.scales, placed, still, still > 0, still == 0)
    return changed(rig, sample) if pieces_change else (rig, sample)


def changed(rig: Rig, sample: Sample) -> tuple[Rig, Sample]:
    """The same shot with a piece that bends, one that is redrawn and one that vanishes."""
    n_frames = rig.shot.n_frames
    half = n_frames // 2
    names = [piece.id for piece in rig.drawing.pieces]
    tub, bonnet, bar = (names.index(name) for name in ("tub", "bonnet", "bar"))
    pieces, tracks = list(rig.drawing.pieces), list(rig.tracks)
    pieces[bonnet] = replace(pieces[bonnet], redrawn=second_drawing(pieces[bonnet]))
    span = FrameSpan(6, n_frames - 8)
    tracks[tub] = replace(tracks[tub], bend=BEND, bending=span)
    tracks[bonnet] = replace(tracks[bonnet], swap=half)
    tracks[bar] = replace(tracks[bar], vanish=half)
    frames = np.arange(n_frames)
    bent = sample.bent.copy()
    redrawn, visible = sample.redrawn.copy(), sample.visible.copy()
    u = np.clip((frames - span.start) / (span.stop - span.start), 0, 1)
    bent[:, tub] = u**3 * (10 - 15 * u + 6 * u * u)
    redrawn[:, bonnet] = frames >= half
    visible[:, bar] = frames < half
    drawing = replace(rig.drawing, pieces=tuple(pieces))
    rig = replace(rig, drawing=drawing, tracks=tuple(tracks))
    return rig, replace(sample, bent=bent, redrawn=redrawn, visible=visible)


def second_drawing(piece: Piece) -> Redrawing:
    """A wedge as large as the bonnet, centroid on centroid."""
    x, y = shapely.get_coordinates(piece.outline.centroid)[0]
    wedge = Polygon([(x - 20, y + 12), (x + 22, y + 12), (x - 2, y - 24)])
    ring = " ".join(f"{x:g},{y:g}" for x, y in wedge.exterior.coords)
    return Redrawing(wedge, f'<polygon points="{ring}" fill="#7a9e7e"/>', "#7a9e7e")


def _channels(transform: Affines) -> list[float]:
    turn, stretch = polar(transform[:2, :2])
    x, y = transform[:2, 2]
    return [x, y, float(turn), stretch[0, 0], stretch[0, 1], stretch[1, 1]]


def _blend(channels: Floats, u: Floats) -> Affines:
    x, y, turn, sxx, sxy, syy = (
        channels[0][:, None] * (1 - u) + channels[1][:, None] * u
    )  # each (n_frames,)
    stretch = np.zeros((len(u), 3, 3))
    stretch[:, 0, 0], stretch[:, 1, 1], stretch[:, 2, 2] = sxx, syy, 1.0
    stretch[:, 0, 1] = stretch[:, 1, 0] = sxy
    return rigid(np.stack([x, y], -1), turn) @ stretch
