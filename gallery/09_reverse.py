"""Reverse: the robot folds away into the tow tractor, on a timing of its own."""

from pictures import DEMO, budget, camera_on, folder_of, keep, side_by_side

import panelbeater

folder = folder_of(__file__)
drawings = DEMO / "tow_tractor.svg", DEMO / "rigger.svg"
for name, reverse in (("up", False), ("down", True)):
    shot = panelbeater.plan(*drawings, reverse=reverse, frames=60, budget=budget())
    first, *_ = sorted(shot.rig.tracks, key=lambda track: (track.start, track.piece))
    print(f"{name}: {first.piece} leaves first, in frame {first.start + 1}")
    camera = camera_on(shot)
    stills = [camera.picture(frame, 220) for frame in (0, 15, 25, 35, 59)]
    keep(side_by_side(*stills, gap=8), folder / f"{name}.png")
