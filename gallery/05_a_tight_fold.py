"""A tight fold: where the diver's body hides while it is still a light plane."""

from pictures import DEMO, budget, folder_of, keep, side_by_side
from PIL import Image, ImageDraw

import panelbeater
from panelbeater.exports import StillCamera
from panelbeater.geometry.stage import bone_outlines

LIMBS = {"arm_l": "#d1495b", "arm_r": "#edae49", "leg_l": "#00798c", "leg_r": "#66a182"}
TRUNK, SHARP = "#2e4057", 3

folder = folder_of(__file__)
plane, diver = DEMO / "light_plane.svg", DEMO / "diver.svg"
shot = panelbeater.plan(plane, diver, frames=24, budget=budget())
rig, sample = shot.rig, shot.sample()
print(f"shortest limb {rig.fold.shortest:.0%} of its length, leak {rig.fold.leak:.2%}")

camera = StillCamera(rig, sample)
pictures = []
for frame in (0, rig.shot.n_frames - 1):
    # With nothing lit, the pieces lie behind a veil; the body goes on top, limb by limb.
    still = camera.lit_picture(frame, 440 * SHARP, [])
    pen, window = ImageDraw.Draw(still), camera.window
    scale = still.width / window.width
    for bone, shape in zip(
        rig.figure.bones, bone_outlines(rig, sample, frame), strict=True
    ):
        for part in getattr(shape, "geoms", [shape]):
            ring = [
                ((x - window.x) * scale, (y - window.y) * scale)
                for x, y in part.exterior.coords
            ]
            pen.polygon(ring, fill=LIMBS.get(bone.controller, TRUNK))
            pen.line(ring, fill="white", width=SHARP)
    size = (still.width // SHARP, still.height // SHARP)
    pictures.append(still.resize(size, Image.Resampling.LANCZOS))
keep(side_by_side(*pictures), folder / "fold.png")
