"""First plan: the crane lorry gets up as the dock hand, with nothing said about how."""

from pictures import budget, flashes_in, folder_of, keep
from PIL import Image

import panelbeater
from panelbeater.exports import export_moving_picture

folder = folder_of(__file__)
vehicle, figure = panelbeater.demo_drawings()

shot = panelbeater.plan(vehicle, figure, frames=96, budget=budget(), title="Crane lorry")
for line in shot.scores.lines():
    print(line)

shot.write(folder / "out")  # the page, the rig, the sheets: open out/preview.html
with Image.open(folder / "out" / "contact-sheet.png") as sheet:
    keep(sheet, folder / "contact-sheet.png", colours=64)

moving = folder.parent / "crane-lorry.png"
export_moving_picture(shot.rig, shot.sample(), moving, width_px=560)
print(moving)

# Look before you loop: the picture plays for everybody who opens the page it is on.
print("flashes in the worst second, at most 3 allowed:", flashes_in(moving))
