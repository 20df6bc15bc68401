"""What the preview page knows about the shot, as plain data."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from panelbeater.exports.compose import Window, path_data
from panelbeater.exports.rig_data import orders_data, rig_data, track_data
from panelbeater.exports.words import LIMB_NAMES, actions, body_moves, time_code
from panelbeater.geometry.bending import fine_outline
from panelbeater.geometry.frames import map_shape
from panelbeater.geometry.stage import drawn_centroids, piece_from_drawing
from panelbeater.terms.assignment import Cover
from panelbeater.terms.drawing import Piece, Shape
from panelbeater.terms.figure import BONE_IDS, CONTROLLERS
from panelbeater.terms.rig import Rig, Sample, Track

_REGION = re.compile(rf"\b({'|'.join(BONE_IDS)})\b")
PLACES_SHOWN = 30
"""Broken places listed per promise; more only bury the first ones."""


def shot_data(
    rig: Rig,
    sample: Sample,
    window: Window,
    *,
    scores: Mapping[str, Any],
    covers: Sequence[Cover],
) -> dict[str, Any]:
    """Everything the page's script reads, rounded to what a screen can show."""
    times = range(rig.shot.n_frames)
    pieces = [
        _piece(rig, i, track, cover, window)
        for i, (track, cover) in enumerate(zip(rig.tracks, covers, strict=True))
    ]
    return {
        "frames": rig.shot.n_frames,
        "fps": rig.shot.fps,
        "exposure": rig.shot.exposure,
        "reverse": rig.shot.reverse,
        "window": [
            round(v, window.decimals)
            for v in (window.x, window.y, window.width, window.height)
        ],
        "decimals": window.decimals,
        "pieces": pieces,
        "rig": rig_data(rig, decimals=window.decimals),
        "orders": orders_data(rig),
        "limbs": _limbs(rig),
        "bodyMoves": [[span.start, span.stop - 1] for span in body_moves(rig)],
        "actions": actions(rig, sample),
        "times": [time_code(frame, rig.shot.fps) for frame in times],
        "scores": _scores(scores),
        "placesShown": PLACES_SHOWN,
    }


def _piece(rig: Rig, i: int, track: Track, cover: Cover, window: Window) -> dict[str, Any]:
    piece = rig.drawing.pieces[i]
    own, worn = own_outlines(piece, track)
    x0, y0, x1, y1 = own.bounds
    air = 0.08 * max(x1 - x0, y1 - y0)
    frame = (x0 - air, y0 - air, x1 - x0 + 2 * air, y1 - y0 + 2 * air)
    return {
        "id": piece.id,
        "kind": piece.kind,
        "signature": piece.signature,
        "mirror": piece.mirror,
        "from": _place(rig, piece),
        "region": _in_words(cover.region),
        "bone": _in_words(track.bone),
        "reason": _with_regions_in_words(cover.reason),
        **track_data(track, decimals=window.decimals),
        "colour": piece.colour,
        "allowance": _allowance(piece),
        "scale": round(cover.scale, 4),
        "stretch": round(cover.stretch, 4),
        "gain": round(cover.gain, 5),
        "outline": path_data(own, window.decimals),
        "worn": path_data(worn, window.decimals) if piece.redrawn else None,
        "centre": drawn_centroids([piece])[0].tolist(),
        "frame": " ".join(f"{v:.5g}" for v in frame),
    }


def own_outlines(piece: Piece, track: Track) -> tuple[Shape, Shape]:
    """Both outlines in the piece's own frame, with corners enough to bend."""
    place = piece_from_drawing([piece])[0]
    own, worn = map_shape(place, piece.outline), map_shape(place, piece.worn)
    if track.bend is None:
        return own, worn
    return fine_outline(track.bend, own), fine_outline(track.bend, worn)


def _allowance(piece: Piece) -> str:
    """How far the piece may be changed, in words."""
    allowed = piece.allowance
    return (
        f"scale {allowed.scale_min:g}-{allowed.scale_max:g}, "
        f"down to {allowed.dip_min:g} on the way, stretch up to {allowed.stretch_max:g}, "
        f"bend up to {allowed.bend_max:g}"
    )


def _place(rig: Rig, piece: Piece) -> str:
    """Where the piece stands in the vehicle, in thirds of its box."""
    x0, y0, x1, y1 = rig.drawing.silhouette.bounds
    centre = piece.outline.centroid
    column = min(int(3 * (centre.x - x0) / max(x1 - x0, 1e-9)), 2)
    row = min(int(3 * (centre.y - y0) / max(y1 - y0, 1e-9)), 2)
    if row == column == 1:
        return "the centre"
    return f"{('upper', 'middle', 'lower')[row]} {('left', 'centre', 'right')[column]}"


def _in_words(bone: str) -> str:
    """`left thigh` for `thigh_l`."""
    for ending, side in (("_l", "left "), ("_r", "right ")):
        if bone.endswith(ending):
            return side + bone.removesuffix(ending).replace("_", " ")
    return bone.replace("_", " ")


def _with_regions_in_words(text: str) -> str:
    """`left thigh` wherever a reason says `thigh_l`."""
    return _REGION.sub(lambda found: _in_words(found.group()), text)


def _limbs(rig: Rig) -> list[dict[str, Any]]:
    """Moves limb by limb, set side by side in as few lanes as they need."""
    controllers = {bone.id: bone.controller for bone in rig.figure.bones}
    limbs = []
    for name in CONTROLLERS:
        moves = sorted(
            (track.start, track.end, i)
            for i, track in enumerate(rig.tracks)
            if controllers[track.bone] == name
        )
        free: list[int] = []
        bars = []
        for start, end, i in moves:
            lane = next((k for k, until in enumerate(free) if until < start), len(free))
            free[lane : lane + 1] = [end]
            title = f"{rig.tracks[i].piece}, frames {start + 1}-{end + 1}"
            bars.append(
                {"index": i, "start": start, "end": end, "lane": lane, "title": title}
            )
        side = name[-1] if name[-2:] in ("_l", "_r") else "middle"
        limbs.append(
            {
                "name": LIMB_NAMES[name],
                "controller": name,
                "side": side,
                "lanes": max(len(free), 1),
                "bars": bars,
            }
        )
    return limbs


def _scores(scores: Mapping[str, Any]) -> dict[str, Any]:
    """The verdict, and everything in it that has a value for each frame."""
    parts = ("promises", "layout", "motion")
    plain = {
        part: [
            {key: value for key, value in score.items() if key != "series"}
            for score in scores.get(part, [])
        ]
        for part in parts
    }
    return {**plain, "series": [s for part in parts for s in _series(scores.get(part, []))]}


def _series(scores: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Names and values over time, four digits: a graph shows no more."""
    return [
        {
            "name": score["name"],
            "values": [float(f"{value:.4g}") for value in score["series"]],
            "wanted": (score.get("target") or {}).get("high", score.get("limit")),
        }
        for score in scores
        if score.get("series")
    ]
