"""Into a web page: the shot as one animated SVG, which waits until somebody asks."""

from pictures import DEMO, budget, camera_on, folder_of, keep, photograph

import panelbeater

PAGE = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>The launch gets up</title>
<style>body {{ font: 18px/1.5 sans-serif; max-width: 40em; margin: 2em auto }}
img {{ width: 100%; max-width: 26em; display: block }}</style>
<h1>The pilot launch gets up</h1>
<p>{words} Moving pictures can trigger seizures in people with photosensitive epilepsy.</p>
<button onclick="shot.src = shot.src.endsWith('rig.svg') ? 'launch.png' : 'rig.svg'">
Play or stop</button>
<img id="shot" src="launch.png" alt="A pilot launch that unfolds into a dock hand">
</html>
"""

folder = folder_of(__file__)
launch, dock_hand = DEMO / "pilot_launch.svg", DEMO / "dock_hand.svg"
# Twelve frames a second: half the pace of film, for a picture that loops beside text.
shot = panelbeater.plan(launch, dock_hand, frames=60, fps=12, budget=budget())
out = shot.write(folder / "out")

(folder / "rig.svg").write_bytes((out / "rig.svg").read_bytes())
keep(camera_on(shot).picture(0, 520), folder / "launch.png", colours=64)
words = f"{len(shot.rig.tracks)} pieces, {shot.rig.shot.n_frames} drawings."
(folder / "page.html").write_text(PAGE.format(words=words), encoding="utf-8")
photograph(folder / "page.html", folder / "page.png", click="button")
