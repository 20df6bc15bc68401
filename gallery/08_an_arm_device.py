"""An arm device: a winch drawn behind the locker becomes the right hand."""

from pictures import budget, camera_on, folder_of, keep, side_by_side

import panelbeater

# A named group is a piece. Drawn first, it lies behind the locker where nobody sees it.
WINCH = """<g id="winch" stroke="#16203a" stroke-width="3">
<path fill="#a7b6bd" d="M121 122h22v30h-22zM115 108h34v16h-34z"/>
<path fill="#f8c63d" d="M112 142h40l12 30h-64z"/>
<circle fill="#f0752b" cx="132" cy="192" r="36"/>
<circle fill="#d8a657" cx="132" cy="192" r="25"/>
<circle fill="none" stroke="#a8752c" stroke-dasharray="6 3" cx="132" cy="192" r="18"/>
<circle fill="#16203a" cx="132" cy="192" r="8"/>
</g>
"""
PINS = {"winch": "hand_r", "jib_outer": "forearm_r", "jib_middle": "upper_arm_r"}

folder = folder_of(__file__)
lorry, dock_hand = panelbeater.demo_drawings()
out = folder / "out"
out.mkdir(exist_ok=True)
art, first = lorry.read_text(encoding="utf-8"), '<g id="exhaust">'
equipped, wishes = out / "lorry-with-winch.svg", out / "pieces.csv"
equipped.write_text(art.replace(first, WINCH + first, 1), encoding="utf-8")

rows = ["piece,pin,ban"]
for piece in panelbeater.read_drawing(equipped).pieces:  # the arm is for the device alone
    rows.append(f"{piece.id},{PINS.get(piece.id, '')},")
    if piece.id not in PINS:
        rows[-1] += "hand_r forearm_r"
wishes.write_text("\n".join(rows) + "\n", encoding="utf-8")

shot = panelbeater.plan(equipped, dock_hand, pieces=wishes, frames=48, budget=budget())
names = [piece.id for piece in shot.rig.drawing.pieces]
lit, camera = [names.index(piece) for piece in PINS], camera_on(shot)
stills = [camera.lit_picture(frame, 440, lit) for frame in (0, 28, 47)]
keep(side_by_side(*stills), folder / "unfolding.png")
keep(camera.picture(47, 560), folder / "equipped.png")
