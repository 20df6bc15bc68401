"""An arm device: a grapple drawn behind the locker unfolds as the right hand."""

from pictures import budget, camera_on, folder_of, keep, side_by_side

import panelbeater

# A named group is a piece. Drawn first it lies behind everything: nobody sees it on the lorry.
GRAPPLE = """<g id="grapple" stroke="#16203a" stroke-width="3" stroke-linejoin="round">
<path fill="#e0592a" d="M124 158q-36 14-32 46q2 18 18 30l8-10q-8-12-4-26q4-14 18-20z"/>
<path fill="#f0752b" d="M140 158q36 14 32 46q-2 18-18 30l-8-10q8-12 4-26q-4-14-18-20z"/>
<path fill="#a7b6bd" d="M118 112h28v40h-28z"/>
<path fill="#f8c63d" d="M110 144h44l6 14q-28 22-56 0z"/>
<circle fill="#16203a" cx="132" cy="158" r="7"/>
</g>
"""
PINS = {"grapple": "hand_r", "jib_outer": "forearm_r", "jib_middle": "upper_arm_r"}

folder = folder_of(__file__)
lorry, dock_hand = panelbeater.demo_drawings()
first = '<g id="exhaust">'
art = lorry.read_text(encoding="utf-8").replace(first, GRAPPLE + first, 1)
equipped = folder / "out" / "lorry-with-grapple.svg"
equipped.parent.mkdir(exist_ok=True)
equipped.write_text(art, encoding="utf-8")

shot = panelbeater.plan(equipped, dock_hand, pins=PINS, frames=48, budget=budget())
for cover in shot.assignment.covers:
    if cover.piece in PINS:
        print(f"{cover.piece} on {cover.region}, {cover.scale:.0%} of its drawn size")
names = [piece.id for piece in shot.rig.drawing.pieces]
lit = [names.index(piece) for piece in PINS]
camera = camera_on(shot)
keep(
    side_by_side(*(camera.picture(frame, 420, lit) for frame in (0, 24, 32, 47))),
    folder / "unfolding.png",
)
keep(camera.picture(47, 640), folder / "equipped.png")
