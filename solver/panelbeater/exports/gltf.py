"""The shot as glTF 2.0: bones and pieces as nodes, one clip from vehicle to robot."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from panelbeater.exports.actors import STRAY, bone_actors, piece_actors
from panelbeater.exports.channels import TURNED, sparse_keys, split_turned
from panelbeater.exports.compose import BODY_FILL, stage_window
from panelbeater.exports.files import write_whole
from panelbeater.exports.gltf_buffer import Buffer, binary
from panelbeater.exports.gltf_mesh import MATERIALS, mesh
from panelbeater.exports.gltf_morph import Bending
from panelbeater.exports.marked import MarkedPieces, read_marks
from panelbeater.exports.marks import Mark, polygon_strokes
from panelbeater.exports.words import way
from panelbeater.kinematics.chain import PARENTS
from panelbeater.svg.outlines import Fineness
from panelbeater.terms.arrays import Affines, Flags, Floats
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.rig import Rig, Sample

STANDING = 2.0
"""The robot stands two units tall: the format counts in metres."""
STEP_SHARE = 0.002
"""Between two depths, as a share of the figure's height: hardly seen from the side."""
WIDEST_TURN = np.pi / 2
"""Between two keys; the format turns the short way round."""


def export_gltf(
    rig: Rig, sample: Sample, path: Path, *, caution: str = ""
) -> tuple[str, ...]:
    """Write one .glb: y up, ground at 0, bones as a tree, pieces on their bones.

    Every node is keyed by place, turn and scale only; a slanting stretch is a turn inside a
    scale inside a turn. Depth is a small step in z that changes at once where the order
    does. `sample` holds one moment per frame. Gives notes on artwork that came out plainer.
    Raises DrawingError on artwork that is not XML.
    """
    artwork = read_marks(rig)
    scene = _Scene(rig, sample)
    scene.bones(rig, sample)
    scene.pieces(rig, sample, artwork)
    write_whole(path, [binary(scene.document(rig, caution), scene.buffer)])
    shaded = any(
        mark.gradient for marks in (*artwork.first, *artwork.worn) for mark in marks
    )
    plainer = ("gradients are painted in their mean colour",) if shaded else ()
    return (*artwork.notes, *plainer)


class _Scene:
    """Collects nodes, meshes and keys."""

    def __init__(self, rig: Rig, sample: Sample) -> None:
        self.buffer = Buffer()
        window = stage_window(rig, sample)
        self._size = max(window.width, window.height)
        self._step = STEP_SHARE * rig.figure.height
        self._fineness = Fineness.suited_to(float(np.hypot(window.width, window.height)))
        self._tolerance = STRAY * self._size
        self._fps = rig.shot.fps
        self._exposure = rig.shot.exposure
        self._n_frames = rig.shot.n_frames
        self._meshes: list[dict[str, Any]] = []
        self._samplers: list[dict[str, Any]] = []
        self._channels: list[dict[str, Any]] = []
        zoom = STANDING / rig.figure.height
        middle = window.x + window.width / 2
        self._nodes: list[dict[str, Any]] = [
            {
                "name": rig.shot.title,
                "scale": [zoom] * 3,
                "translation": [-zoom * middle, zoom * rig.ground, 0.0],
            }
        ]
        self._bone_nodes: list[int] = []

    def bones(self, rig: Rig, sample: Sample) -> None:
        """The tree of bones, each with its bare body."""
        actors = bone_actors(rig, sample)
        frames = sample.stage_from_bone  # (n_times, n_bones, 3, 3)
        for i, bone in enumerate(rig.figure.bones):
            parent = PARENTS[i]
            carrier = frames[:, i]
            if parent >= 0:
                carrier = np.linalg.inv(frames[:, parent]) @ carrier
            above = 0 if parent < 0 else self._bone_nodes[parent]
            node = self._node(bone.id, above)
            self._bone_nodes.append(node)
            self._key(node, carrier, list(range(self._n_frames)), z=0.0)
            body = (Mark(polygon_strokes(bone.body), BODY_FILL, 1.0, "evenodd"),)
            shown = self._node(f"{bone.id} body", node)
            level = self._step * i / len(actors)  # two bodies never share a plane
            self._mesh(shown, f"{bone.id} body", body, actors[i].inner, 0.0)
            squeeze = np.zeros((self._n_frames, 3, 3))
            squeeze[:, [0, 1], [0, 1]] = sample.bone_scales[:, i]
            squeeze[:, 2, 2] = 1.0
            self._key(shown, squeeze, list(range(self._n_frames)), z=level)

    def pieces(self, rig: Rig, sample: Sample, artwork: MarkedPieces) -> None:
        """Every piece on the bone that carries it."""
        actors = piece_actors(rig, sample)
        for i, (piece, track) in enumerate(
            zip(rig.drawing.pieces, rig.tracks, strict=True)
        ):
            bone = BONE_IDS.index(track.bone)
            carrier = np.linalg.inv(sample.stage_from_bone[:, bone]) @ actors[i].carrier
            keys = sparse_keys(carrier, actors[i].edge, self._tolerance, TURNED)
            if self._exposure > 1:
                keys = list(range(self._n_frames))
            outer = self._node(piece.id, self._bone_nodes[bone])
            inner_turn = self._key(outer, carrier, keys, z=0.0)
            level = (rig.depth[:, i] + 1) * np.float64(self._step)
            for redrawn in (False, True):
                seen = sample.visible[:, i] & (sample.redrawn[:, i] == redrawn)
                if not seen.any():
                    continue
                name = f"{piece.id} {'robot drawing' if redrawn else 'drawing'}"
                shown = self._node(name, outer)
                art = artwork.bent.get((i, redrawn))
                bending = None
                if art is not None:
                    bending = Bending.keyed(art, sample.bent[:, i], self._tolerance)
                self._mesh(
                    shown, name.removesuffix(" drawing"),
                    artwork.of(i, redrawn=redrawn), actors[i].inner, 0.9 * self._step,
                    bending,
                )  # fmt: skip
                if bending:
                    self._morph(shown, bending)
                self._turned(shown, keys, inner_turn)
                self._stacked(shown, level)
                self._seen(shown, seen)

    def document(self, rig: Rig, caution: str) -> dict[str, Any]:
        """Everything but the numbers."""
        about = {"title": rig.shot.title, "fps": rig.shot.fps, "frames": rig.shot.n_frames}
        clip = {
            "name": way(rig).removeprefix("from "),
            "channels": self._channels,
            "samplers": self._samplers,
        }
        return {
            "asset": {
                "version": "2.0",
                "generator": "panelbeater",
                "extras": {**about, **({"caution": caution} if caution else {})},
            },
            "extensionsUsed": ["KHR_materials_unlit"],
            "scene": 0,
            "scenes": [{"name": rig.shot.title, "nodes": [0]}],
            "nodes": self._nodes,
            "meshes": self._meshes,
            "materials": MATERIALS,
            **({"animations": [clip]} if self._channels else {}),
        }

    def _node(self, name: str, above: int) -> int:
        self._nodes.append({"name": name})
        self._nodes[above].setdefault("children", []).append(len(self._nodes) - 1)
        return len(self._nodes) - 1

    def _mesh(
        self,
        node: int,
        name: str,
        marks: tuple[Mark, ...],
        inner: Affines,
        thick: float,
        bending: Bending | None = None,
    ) -> None:
        made = mesh(
            name, marks, inner, self.buffer,
            thickness=thick, fineness=self._fineness, bending=bending,
        )  # fmt: skip
        if made is not None:
            self._nodes[node]["mesh"] = len(self._meshes)
            self._meshes.append(made)

    def _key(self, node: int, carrier: Affines, keys: list[int], *, z: float) -> Floats:
        """Place, turn and scale of a node; hands back the turn that belongs inside it."""
        x, y, turn, inner, sx, sy = split_turned(carrier).T
        keys = _close_enough(keys, turn, inner)
        place = np.stack([x, -y, np.full_like(x, z)], axis=-1)
        self._animate(node, "translation", keys, place, [0.0, 0.0, 0.0])
        self._animate(node, "rotation", keys, _quaternion(-turn), [0.0, 0.0, 0.0, 1.0])
        grown = np.stack([sx, sy, np.ones_like(sx)], axis=-1)
        self._animate(node, "scale", keys, grown, [1.0, 1.0, 1.0])
        out: Floats = inner
        return out

    def _turned(self, node: int, keys: list[int], inner: Floats) -> None:
        keys = _close_enough(keys, inner, inner)
        self._animate(node, "rotation", keys, _quaternion(-inner), [0.0, 0.0, 0.0, 1.0])

    def _stacked(self, node: int, level: Floats) -> None:
        """Depth over time; it changes at once, never gliding through another piece."""
        place = np.zeros((self._n_frames, 3))
        place[:, 2] = level
        changes = [0, *(np.flatnonzero(np.diff(level)) + 1).tolist()]
        self._animate(node, "translation", changes, place, [0.0, 0.0, 0.0], steps=True)

    def _seen(self, node: int, seen: Flags) -> None:
        """The format knows no hiding: what is not shown has no size."""
        size = np.repeat(seen[:, None], 3, axis=1).astype(np.float64)
        changes = [0, *(np.flatnonzero(np.diff(seen)) + 1).tolist()]
        self._animate(node, "scale", changes, size, [1.0, 1.0, 1.0], steps=True)

    def _morph(self, node: int, bending: Bending) -> None:
        """Weights of the bent shapes: one after another takes over."""
        held = self._exposure > 1
        frames = list(range(self._n_frames)) if held else bending.frames
        self._samplers.append(
            {
                "input": self.buffer.add(np.array(frames) / self._fps, with_bounds=True),
                "output": self.buffer.add(bending.weights()[frames].ravel()),
                "interpolation": "STEP" if held else "LINEAR",
            }
        )
        target = {"node": node, "path": "weights"}
        self._channels.append({"sampler": len(self._samplers) - 1, "target": target})

    def _animate(
        self,
        node: int,
        path: str,
        keys: list[int],
        values: Floats,
        rest: list[float],
        *,
        steps: bool = False,
    ) -> None:
        """Values of the keys as a channel, or as a plain property of what never changes."""
        rows = values[keys]
        if np.abs(rows[0] - rest).max() > 1e-9:
            self._nodes[node][path] = [float(v) for v in rows[0]]
        if np.abs(rows - rows[0]).max() < 1e-9:
            return
        times = np.array(keys) / self._fps
        self._samplers.append(
            {
                "input": self.buffer.add(times, with_bounds=True),
                "output": self.buffer.add(rows),
                "interpolation": "STEP" if steps or self._exposure > 1 else "LINEAR",
            }
        )
        target = {"node": node, "path": path}
        self._channels.append({"sampler": len(self._samplers) - 1, "target": target})


def _quaternion(turn: Floats) -> Floats:
    """(n, 4), x y z w, a turn about z."""
    out = np.zeros((len(turn), 4))
    out[:, 2], out[:, 3] = np.sin(turn / 2), np.cos(turn / 2)
    return out


def _close_enough(keys: list[int], turn: Floats, inner: Floats) -> list[int]:
    """More keys where a turn is too wide to have one short way."""
    out = [keys[0]]
    for key in keys[1:]:
        for frame in range(out[-1] + 1, key):
            widest = max(
                abs(turn[frame + 1] - turn[out[-1]]), abs(inner[frame + 1] - inner[out[-1]])
            )
            if widest > WIDEST_TURN:
                out.append(frame)
        out.append(key)
    return out
