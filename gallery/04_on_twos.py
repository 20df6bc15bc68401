"""A shot on twos: every drawing stands for two frames, and the sheet says which."""

import csv

from pictures import PAPER, budget, folder_of, keep
from PIL import Image, ImageDraw, ImageFont

import panelbeater

ROWS, PIECES, INK = slice(11, 31), range(5, 19), "#1f262b"
WIDE, TALL, TOP, LEFT = 46, 24, 150, 70

folder = folder_of(__file__)
shot = panelbeater.plan(
    *panelbeater.demo_drawings(), frames=48, exposure=2, budget=budget()
)
out = shot.write(folder / "out")
with (out / "exposure-sheet.csv").open(encoding="utf-8") as file:
    head, *frames = csv.reader(file)

size = (LEFT + WIDE * len(PIECES) + 10, TOP + TALL * len(frames[ROWS]) + 10)
sheet = Image.new("RGB", size, PAPER)
pen, small = ImageDraw.Draw(sheet), ImageFont.load_default(15)
for place, k in enumerate(PIECES):
    label = Image.new("RGB", (TOP - 10, 22), PAPER)
    ImageDraw.Draw(label).text((0, 2), head[k], fill=INK, font=small)
    sheet.paste(label.rotate(90, expand=True), (LEFT + place * WIDE + 10, 4))
for y, row in enumerate(frames[ROWS]):
    top, middle = TOP + y * TALL, TOP + (y + 0.5) * TALL
    pen.line((0, top, size[0], top), fill="#8b8577" if y % 2 == 0 else "#dcd7c9")
    pen.text((LEFT - 20, middle), row[0], fill=INK, font=small, anchor="rm")
    for place, k in enumerate(PIECES):
        at = LEFT + (place + 0.5) * WIDE
        if row[k] == "-":  # held
            pen.line((at, top, at, top + TALL), fill="#8b8577")
        else:  # a new drawing; a star marks a key
            pen.text((at, middle), row[k], fill=INK, font=small, anchor="mm")
keep(sheet, folder / "exposure-sheet.png", colours=32)
