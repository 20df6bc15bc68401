"""Gathers the open silhouettes that the stress report compares a shot with.

    python benchmarks/gather_silhouettes.py FOLDER

FOLDER holds the npm packages named in PACKAGES, unpacked by `npm pack` and `tar xzf`, each
in a folder of its own. Writes `silhouettes.png` (one 64 x 64 cell a silhouette),
`silhouettes.csv` (name, class, package, version, licence), `left_out.json` (how often each
sort is found again) and `LICENCES.txt` into the stress
package. Run it again only to change the set: the files are part of the repository.
"""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path

import numpy as np
import resvg_py
from PIL import Image
from scipy.ndimage import binary_fill_holes

from panelbeater.stress.recognition import hits_left_out
from panelbeater.stress.recognition.silhouettes import CELL_PX, COLUMNS, FOLDER, fitted

PACKAGES = {
    "mdi": ("@mdi/svg", "svg/{}.svg", "Apache-2.0", "Pictogrammers"),
    "fa": ("@fortawesome/fontawesome-free", "svgs/solid/{}.svg", "CC-BY-4.0",
           "Fonticons, Inc. (icons only)"),
    "ph": ("@phosphor-icons/core", "assets/fill/{}-fill.svg", "MIT", "Phosphor Icons"),
    "bs": ("bootstrap-icons", "icons/{}.svg", "MIT", "The Bootstrap Authors"),
    "tb": ("@tabler/icons", "icons/filled/{}.svg", "MIT", "Pawel Kuna"),
    "fe": ("@iconify-json/fluent-emoji-high-contrast", "", "MIT", "Microsoft Corporation"),
    "mk": ("@iconify-json/maki", "", "CC0-1.0", "Mapbox"),
}  # fmt: skip

CLASSES = {
    "car": (
        "mdi: car-side car-hatchback car-estate car-convertible car-sports "
        "car-limousine car-pickup car-lifted-pickup van-passenger; fa: car-side "
        "van-shuttle truck-pickup; ph: car-profile van; fe: automobile "
        "sport-utility-vehicle pickup-truck; tb: car car-suv"
    ),
    "lorry": (
        "mdi: truck dump-truck tanker-truck tow-truck fire-truck truck-flatbed "
        "truck-trailer ambulance rv-truck bus-side; fa: truck truck-medical "
        "truck-field truck-moving; ph: truck truck-trailer ambulance "
        "fire-truck; fe: articulated-lorry delivery-truck fire-engine "
        "ambulance; tb: truck car-crane caravan"
    ),
    "tractor": (
        "mdi: tractor tractor-variant excavator forklift; fa: tractor "
        "truck-monster; ph: tractor; fe: tractor"
    ),
    "two-wheeler": (
        "mdi: motorbike moped bicycle scooter; fa: bicycle motorcycle; ph: "
        "motorcycle bicycle moped; fe: bicycle motorcycle motor-scooter "
        "kick-scooter"
    ),
    "boat": (
        "mdi: ferry sail-boat; fa: ferry sailboat ship; ph: boat sailboat; fe: "
        "canoe ferry motor-boat passenger-ship sailboat ship; mk: ferry; tb: "
        "ferry"
    ),
    "aircraft": (
        "mdi: airplane helicopter airplane-landing airplane-takeoff; fa: plane "
        "plane-arrival plane-departure jet-fighter helicopter; ph: airplane "
        "airplane-in-flight airplane-landing; fe: airplane airplane-departure "
        "small-airplane helicopter; tb: plane plane-departure helicopter; mk: "
        "airport airfield"
    ),
    "person": (
        "mdi: human human-male human-female human-handsdown human-handsup "
        "human-greeting walk run hiking human-child; fa: person person-dress "
        "person-walking person-running child child-dress person-hiking; bs: "
        "person-standing person-walking person-arms-up person-standing-dress; "
        "ph: person person-simple person-simple-walk person-simple-run "
        "person-arms-spread; fe: man-standing woman-standing person-standing "
        "man-walking; tb: man woman"
    ),
    "animal": (
        "mdi: dog-side elephant duck dolphin penguin rabbit turtle; fa: cat dog "
        "horse hippo cow otter crow dove fish frog kiwi-bird; fe: dog cat "
        "elephant horse cow ox ram rabbit turtle pig duck crocodile lizard "
        "whale fish"
    ),
    "tree": (
        "mdi: tree pine-tree palm-tree; fa: tree; ph: tree tree-evergreen "
        "tree-palm; fe: deciduous-tree evergreen-tree palm-tree christmas-tree; "
        "bs: tree-fill; mk: park park-alt1; tb: christmas-tree"
    ),
    "house": (
        "mdi: home home-variant barn church castle warehouse garage; fa: house "
        "house-chimney church warehouse; ph: house barn church castle-turret "
        "warehouse garage; fe: house church castle derelict-house hut; bs: "
        "house-fill house-door-fill; tb: home"
    ),
    "tool": (
        "mdi: hammer wrench screwdriver axe shovel pickaxe hand-saw pencil; fa: "
        "hammer wrench screwdriver scissors; ph: hammer wrench screwdriver axe "
        "shovel pencil scissors; fe: hammer wrench screwdriver axe "
        "carpentry-saw pencil scissors"
    ),
}
RASTER_PX = 256


def main() -> int:
    """Rasterise every named icon and write the three files."""
    if len(sys.argv) != 2:
        print(__doc__)
        return 2
    found = _unpacked(Path(sys.argv[1]))
    rows, cells = [], []
    for kind, text in CLASSES.items():
        for short, name in _names(text):
            package, _, licence, _ = PACKAGES[short]
            folder, version = found[package]
            cells.append(_cell(_svg(folder, short, name)))
            rows.append((name, kind, package, version, licence))
    _write_sheet(cells)
    with (FOLDER / "silhouettes.csv").open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(rows)
    _write_licences(found, rows)
    (FOLDER / "left_out.json").write_text(
        json.dumps(hits_left_out(), indent=1) + "\n", encoding="utf-8"
    )
    print(f"{len(rows)} silhouettes in {len(CLASSES)} classes")
    return 0


def _names(text: str) -> list[tuple[str, str]]:
    out = []
    for part in text.split(";"):
        short, names = part.split(":")
        out += [(short.strip(), name) for name in names.split()]
    return out


def _unpacked(folder: Path) -> dict[str, tuple[Path, str]]:
    """Package name to its folder and exact version."""
    out = {}
    for path in sorted(folder.rglob("package.json")):
        facts = json.loads(path.read_text(encoding="utf-8"))
        if facts.get("name") in {package for package, *_ in PACKAGES.values()}:
            out[facts["name"]] = (path.parent, facts["version"])
    return out


def _svg(folder: Path, short: str, name: str) -> str:
    pattern = PACKAGES[short][1]
    if pattern:
        return (folder / pattern.format(name)).read_text(encoding="utf-8")
    icons = json.loads((folder / "icons.json").read_text(encoding="utf-8"))
    icon = icons["icons"][name]
    side_x = icon.get("width", icons.get("width", 16))
    side_y = icon.get("height", icons.get("height", 16))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{icon.get("left", 0)} '
        f'{icon.get("top", 0)} {side_x} {side_y}">{icon["body"]}</svg>'
    )


def _cell(svg: str) -> np.ndarray:
    """(64, 64) bool: the outer silhouette, holes filled, fitted to the cell."""
    png = resvg_py.svg_to_bytes(
        svg_string=svg.replace("currentColor", "#000000"), width=RASTER_PX, height=RASTER_PX
    )
    alpha = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGBA"))[..., 3]
    return fitted(binary_fill_holes(alpha > 127))


def _write_sheet(cells: list[np.ndarray]) -> None:
    columns = 16
    sheet = np.zeros(
        (-(-len(cells) // columns) * CELL_PX, columns * CELL_PX), dtype=np.bool_
    )
    for at, cell in enumerate(cells):
        y, x = divmod(at, columns)
        sheet[y * CELL_PX : (y + 1) * CELL_PX, x * CELL_PX : (x + 1) * CELL_PX] = cell
    Image.fromarray(~sheet).save(FOLDER / "silhouettes.png", optimize=True)


def _write_licences(
    found: dict[str, tuple[Path, str]], rows: list[tuple[str, str, str, str, str]]
) -> None:
    lines = [
        "Silhouettes in this folder are derived from icons of these npm packages: each",
        "icon was filled black, its holes closed, and fitted to a 64 x 64 cell.",
        "",
    ]
    for package, _, licence, author in PACKAGES.values():
        count = sum(row[2] == package for row in rows)
        lines.append(f"{package} {found[package][1]}: {count} icons, {licence}, {author}")
    lines += [
        "",
        "Apache-2.0: https://www.apache.org/licenses/LICENSE-2.0",
        "CC-BY-4.0: https://creativecommons.org/licenses/by/4.0/",
        "CC0-1.0: https://creativecommons.org/publicdomain/zero/1.0/",
        "MIT: the permission notice reads as in the licence of this project; the copyright",
        "lines are those of the authors named above.",
        "",
    ]
    (FOLDER / "LICENCES.txt").write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
