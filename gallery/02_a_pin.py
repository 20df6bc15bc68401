"""A pin: two wheels that stood at the feet are asked to be shoulders."""

from pictures import budget, camera_on, folder_of, keep, side_by_side

import panelbeater

WHEELS = {"front_wheel": "upper_arm_l", "rear_wheel_1": "upper_arm_r"}

folder = folder_of(__file__)
vehicle, figure = panelbeater.demo_drawings()
for pins in ({}, WHEELS):
    shot = panelbeater.plan(vehicle, figure, pins=pins, frames=24, budget=budget())
    covers = {cover.piece: cover.region for cover in shot.assignment.covers}
    print({wheel: covers[wheel] for wheel in WHEELS})
    names = [piece.id for piece in shot.rig.drawing.pieces]
    lit = [names.index(wheel) for wheel in WHEELS]
    camera = camera_on(shot)
    robot = camera.picture(shot.rig.shot.n_frames - 1, 440)
    shining = camera.lit_picture(shot.rig.shot.n_frames - 1, 440, lit)
    keep(side_by_side(robot, shining), folder / f"{'pinned' if pins else 'free'}.png")
