"""Small invented shots for the judge's tests, written the way the frames file is."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace

import shapely
from shapely import MultiPolygon, Polygon, box
from shapely.affinity import translate

from panelbeater.scores import Shot, parse_frames


def wkt(shape: shapely.Geometry) -> str:
    return shapely.to_wkt(shape, rounding_precision=-1)


@dataclass(frozen=True)
class Look:
    """One piece in one frame."""

    outline: Polygon
    bone: str = "torso"
    region: str | None = "torso"
    depth: int = 0
    scale: float = 1.0
    visible: bool = True


@dataclass
class Scene:
    """A shot under construction: `looks[piece][frame]`, `bones[bone][frame]`."""

    looks: dict[str, list[Look]]
    bones: dict[str, list[Polygon]]
    figure: Polygon
    vehicle: Polygon
    regions: dict[str, Polygon]
    ground: float
    fps: float = 24.0
    kinds: dict[str, str] = field(default_factory=dict)
    mirrors: dict[str, str] = field(default_factory=dict)
    signature: tuple[str, ...] = ()
    inputs: dict[str, Polygon | MultiPolygon] = field(default_factory=dict)
    absent: set[tuple[str, int]] = field(default_factory=set)
    first: float = 0.0
    controllers: dict[str, str] = field(default_factory=dict)

    @property
    def n_frames(self) -> int:
        return len(next(iter(self.bones.values())))

    def change(self, piece: str, frame: int, **what: object) -> None:
        self.looks[piece][frame] = replace(self.looks[piece][frame], **what)  # type: ignore[arg-type]

    def shift(self, piece: str, frame: int, x: float, y: float) -> None:
        moved = translate(self.looks[piece][frame].outline, x, y)
        self.change(piece, frame, outline=moved)

    def lines(self) -> list[str]:
        header = {
            "format": "panelbeater-frames",
            "version": 1,
            "fps": self.fps,
            "frames": self.n_frames,
            "ground": self.ground,
            "vehicle": wkt(self.vehicle),
            "figure": wkt(self.figure),
            "regions": [
                {
                    "id": name,
                    "controller": self.controllers.get(name, "torso"),
                    "wkt": wkt(s),
                }
                for name, s in self.regions.items()
            ],
            "pieces": [
                {
                    "id": name,
                    "kind": self.kinds.get(name, "panel"),
                    "signature": name in self.signature,
                    "mirror": self.mirrors.get(name),
                    "wkt": wkt(self.inputs.get(name, looks[0].outline)),
                }
                for name, looks in self.looks.items()
            ],
        }
        return [
            json.dumps(header),
            *(json.dumps(self._row(k)) for k in range(self.n_frames)),
        ]

    def _row(self, k: int) -> dict[str, object]:
        return {
            "frame": k + self.first,
            "master": k / max(1, self.n_frames - 1),
            "bones": [
                {
                    "id": name,
                    "controller": self.controllers.get(name, "torso"),
                    "wkt": wkt(shapes[k]),
                }
                for name, shapes in self.bones.items()
            ],
            "pieces": [
                {
                    "id": name,
                    "bone": looks[k].bone,
                    "region": looks[k].region,
                    "depth": looks[k].depth,
                    "scale": looks[k].scale,
                    "visible": looks[k].visible,
                    "wkt": wkt(looks[k].outline),
                }
                for name, looks in self.looks.items()
                if (name, k) not in self.absent
            ],
        }

    def shot(self) -> Shot:
        return parse_frames(self.lines())


def still_scene(n_frames: int = 8) -> Scene:
    """Two bones and three pieces that keep every promise; vehicle and figure are one.

    The figure is 40 x 100 on the ground line y = 100; from the top the hood (0-40), the
    door (40-70) and the wheel (70-100), each over the full width; H = 100.
    """
    looks = {
        "hood": [Look(box(0, 0, 40, 40), depth=0)] * n_frames,
        "door": [Look(box(0, 40, 40, 70), depth=1)] * n_frames,
        "wheel": [Look(box(0, 70, 40, 100), "foot_l", "foot_l", depth=2)] * n_frames,
    }
    return Scene(
        looks={name: list(rows) for name, rows in looks.items()},
        bones={
            "torso": [box(10, 2, 30, 61)] * n_frames,
            "foot_l": [box(10, 60, 30, 100)] * n_frames,
        },
        figure=box(0, 0, 40, 100),
        vehicle=box(0, 0, 40, 100),
        regions={"torso": box(0, 0, 40, 60), "foot_l": box(0, 60, 40, 100)},
        ground=100.0,
        controllers={"foot_l": "leg_l"},
    )


def moving_scene(paths: dict[str, list[tuple[float, float]]], size: float = 10.0) -> Scene:
    """Squares of side `size` whose centres follow the paths, over a body that stays."""
    n_frames = len(next(iter(paths.values())))
    half = size / 2
    looks = {
        name: [
            Look(box(x - half, y - half, x + half, y + half), depth=at) for x, y in centres
        ]
        for at, (name, centres) in enumerate(paths.items())
    }
    body = box(0, 0, 1000, 1000)
    return Scene(
        looks=looks,
        bones={"torso": [body] * n_frames},
        figure=body,
        vehicle=body,
        regions={"torso": body},
        ground=1000.0,
    )
