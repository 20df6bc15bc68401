"""Alternates: the tow tractor offers four different layouts of one rigger."""

from pictures import DEMO, budget, folder_of, keep
from PIL import Image

from panelbeater.offer import offer_alternates
from panelbeater.shot import Request
from panelbeater.terms.timing import ShotOptions

folder = folder_of(__file__)
options = ShotOptions(n_frames=24, budget=budget(), title="Tow tractor to rigger")
request = Request(DEMO / "tow_tractor.svg", DEMO / "rigger.svg", shot=options)

out = folder / "out"  # out/1 to out/4 are whole plans to take on
for row in offer_alternates(request, out, n_alternates=4):
    print(row["number"], row["name"], row["facts"]["worth beside the first"])

with Image.open(out / "alternates.png") as sheet:
    keep(sheet, folder / "alternates.png", colours=64)
