"""The shot as a Lottie animation: shape layers that any player of the open format shows."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from panelbeater.exports.actors import STRAY, Actor, bone_actors, piece_actors
from panelbeater.exports.bent import BentArt
from panelbeater.exports.bent_keys import key_shapes
from panelbeater.exports.channels import TURNED, sparse_keys, split_turned
from panelbeater.exports.compose import BODY_EDGE, BODY_FILL, Window, stage_window
from panelbeater.exports.files import write_whole
from panelbeater.exports.lottie_shapes import (
    Morph,
    group,
    keyed,
    mark_group,
    rounded,
    still,
)
from panelbeater.exports.marked import read_marks
from panelbeater.exports.marks import Mark, polygon_strokes
from panelbeater.exports.slots import Slot, piece_slots
from panelbeater.svg.outlines import StrokeStyle
from panelbeater.terms.arrays import Affines, Floats
from panelbeater.terms.rig import Rig, Sample

VERSION = "5.7.0"
"""Oldest version of the format whose features are used here."""
WIDTH = 1024
"""Larger side of the picture, in Lottie's pixels; vectors scale to any size."""
DECIMALS = 2
"""A hundredth of such a pixel."""
SHAPE_LAYER = 4


def export_lottie(
    rig: Rig, sample: Sample, path: Path, *, caution: str = ""
) -> tuple[str, ...]:
    """Write the shot as Lottie JSON (Lottie specification 1.0), nothing behind the figure.

    One layer a piece and bone, keyed sparsely by place, turn and scale; the time line is
    the master. Where the draw order changes a piece stands in two layers, shown and hidden
    by held opacity. `sample` holds one moment per frame. Gives notes on artwork that the
    format cannot say. Raises DrawingError on artwork that is not XML.
    """
    window = stage_window(rig, sample)
    stage = _Stage(rig, window)
    artwork = read_marks(rig)
    pieces = piece_actors(rig, sample)
    layers = [
        stage.layer(
            bone.id,
            actor,
            [mark_group(m, stage.own_from_drawing(actor), DECIMALS) for m in marks],
        )
        for bone, actor, marks in zip(
            rig.figure.bones, bone_actors(rig, sample), _bodies(rig, window), strict=True
        )
    ]
    for slot in piece_slots(rig, sample):
        actor = pieces[slot.piece]
        marks = artwork.of(slot.piece, redrawn=slot.redrawn)
        art = artwork.bent.get((slot.piece, slot.redrawn))
        morphs = stage.morphs(art, sample.bent[:, slot.piece])
        own = stage.own_from_drawing(actor)
        shapes = [
            mark_group(mark, own, DECIMALS, morph)
            for mark, morph in zip(marks, morphs or [None] * len(marks), strict=True)
        ]
        layers.append(stage.layer(rig.drawing.pieces[slot.piece].id, actor, shapes, slot))
    document = _document(rig, stage, layers, caution)
    text = json.dumps(document, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    write_whole(path, [text.encode()])
    return artwork.notes


def _document(
    rig: Rig, stage: _Stage, layers: list[dict[str, Any]], caution: str
) -> dict[str, Any]:
    last = rig.shot.n_frames - 1
    about = "A drawn vehicle unfolds into a standing figure."
    return {
        "v": VERSION,
        "nm": rig.shot.title,
        "meta": {"g": "panelbeater", "d": f"{about} {caution}".strip()},
        "fr": rig.shot.fps,
        "ip": 0,
        "op": rig.shot.n_frames,
        "w": stage.width,
        "h": stage.height,
        "ddd": 0,
        "assets": [],
        "markers": [
            {"tm": 0, "cm": "vehicle", "dr": 0},
            {"tm": last, "cm": "robot", "dr": 0},
        ],
        # The format lists layers from near to far.
        "layers": [{"ind": k + 1, **layer} for k, layer in enumerate(reversed(layers))],
    }


def _bodies(rig: Rig, window: Window) -> list[list[Mark]]:
    """Fill and edge of every bare bone."""
    edge = StrokeStyle(width=max(window.width, window.height) / 600)
    return [
        [
            Mark(polygon_strokes(bone.body), BODY_FILL, 1.0, "evenodd"),
            Mark(polygon_strokes(bone.body), BODY_EDGE, 1.0, pen=edge),
        ]
        for bone in rig.figure.bones
    ]


class _Stage:
    """Brings stage units to Lottie's pixels, and movers to layers."""

    def __init__(self, rig: Rig, window: Window) -> None:
        self._zoom = WIDTH / max(window.width, window.height)
        self.width, self.height = (
            round(side * self._zoom) for side in (window.width, window.height)
        )
        self._pixel_from_stage = np.diag([self._zoom, self._zoom, 1.0])
        self._pixel_from_stage[:2, 2] = -self._zoom * np.array([window.x, window.y])
        self._n_frames = rig.shot.n_frames
        self._exposure = rig.shot.exposure
        self._tolerance = STRAY * WIDTH

    def own_from_drawing(self, actor: Actor) -> Affines:
        """A layer's own frame counts in pixels, so that drawn size is a scale of 100."""
        own: Affines = np.diag([self._zoom, self._zoom, 1.0]) @ actor.inner
        return own

    def layer(
        self,
        name: str,
        actor: Actor,
        far_to_near: list[dict[str, Any]],
        slot: Slot | None = None,
    ) -> dict[str, Any]:
        """One mover as a shape layer without its index."""
        stage_from_pixel_size = np.diag([1 / self._zoom, 1 / self._zoom, 1.0])
        carrier = self._pixel_from_stage @ actor.carrier @ stage_from_pixel_size
        keys = self._keys(carrier, actor.edge * self._zoom)
        x, y, turn, inner, sx, sy = split_turned(carrier).T
        shapes = far_to_near[::-1]
        if np.abs(inner).max() > 0:
            # A stretch along a slant: turn inside, stretch outside.
            shapes = [group(shapes, r=self._keyed(keys, np.degrees(inner)[:, None], 4))]
        return {
            "ty": SHAPE_LAYER,
            "nm": name,
            # First, or one of the players takes the layer for a solid one.
            "ddd": 0,
            "ks": {
                "a": still([0, 0]),
                "p": self._keyed(keys, np.stack([x, y], -1), DECIMALS),
                "s": self._keyed(keys, 100 * np.stack([sx, sy], -1), 4),
                "r": self._keyed(keys, np.degrees(turn)[:, None], 4),
                "o": still(100) if slot is None else self._shown(slot),
            },
            "shapes": shapes,
            "ip": 0,
            "op": self._n_frames,
            "st": 0,
        }

    def _keys(self, carrier: Affines, edge: Floats) -> list[int]:
        if self._exposure > 1:
            return self._held()
        return sparse_keys(carrier, edge, self._tolerance, TURNED)

    def _keyed(self, keys: list[int], values: Floats, decimals: int) -> dict[str, Any]:
        """A property over time; `values` is (n_frames, n), one number stands bare."""
        rows = rounded(values[keys], decimals)
        if all(row == rows[0] for row in rows):
            return still(rows[0] if len(rows[0]) > 1 else rows[0][0])
        return keyed(keys, rows, is_held=self._exposure > 1)

    def morphs(self, art: BentArt | None, shares: Floats) -> list[Morph | None] | None:
        """Keys of every mark of a drawing that bends; `shares` is (n_frames,)."""
        if art is None:
            return None
        if self._exposure > 1:
            frames = self._held()
        else:
            frames = key_shapes(art, shares, self._tolerance / self._zoom)
        bent = zip(*(art.at(float(shares[frame])) for frame in frames), strict=True)
        return [Morph(frames, list(marks), self._exposure > 1) for marks in bent]

    def _held(self) -> list[int]:
        return sorted({*range(0, self._n_frames, self._exposure), self._n_frames - 1})

    def _shown(self, slot: Slot) -> dict[str, Any]:
        if slot.is_always:
            return still(100)
        shown = slot.shown
        changes = [f for f in range(len(shown)) if f == 0 or shown[f] != shown[f - 1]]
        return {
            "a": 1,
            "k": [{"t": f, "s": [100 if shown[f] else 0], "h": 1} for f in changes],
        }
