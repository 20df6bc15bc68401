"""Fetches the drawings of other people that the benchmarks also plan.

    python -m benchmarks.corpus

`cases/corpus.csv` names package, exact version, path, licence and hash of each. Packages
come through the ordinary npm client into `benchmarks/.cache/`, which is not committed. A
drawing whose hash differs is left out and named; exit status 1 then.
"""

from __future__ import annotations

import csv
import hashlib
import json
import subprocess
import sys
import tarfile
from pathlib import Path

from benchmarks.sources import CACHE, HERE

MOST_BYTES = 64 * 2**20
"""Largest file taken out of a package: icon sets are 10 MiB or so."""


def main() -> int:
    """Fetch what is missing, check all, say what there is."""
    with (HERE / "cases" / "corpus.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    drawings = CACHE / "drawings"
    drawings.mkdir(parents=True, exist_ok=True)
    wrong = []
    for package, version in sorted({(row["package"], row["version"]) for row in rows}):
        mine = [row for row in rows if row["package"] == package]
        with tarfile.open(packed(package, version)) as members:
            for row in mine:
                text = drawing_in(members, row["path"])
                if hashed(text) != row["sha256"]:
                    wrong.append(f"{package} {row['path']}: hash {hashed(text)}")
                    continue
                path = drawings / f"{row['kind']}-{row['name']}.svg"
                path.write_text(text, encoding="utf-8")
    print(f"{len(rows) - len(wrong)} of {len(rows)} drawings in {drawings.name}/")
    print(*wrong, sep="\n")
    return 1 if wrong else 0


def packed(package: str, version: str) -> Path:
    """The package as npm packs it, fetched unless it is there."""
    CACHE.mkdir(parents=True, exist_ok=True)
    path = CACHE / f"{package.lstrip('@').replace('/', '-')}-{version}.tgz"
    if not path.is_file():
        subprocess.run(
            ["npm", "pack", "--silent", "--pack-destination", str(CACHE),
             f"{package}@{version}"],
            check=True, stdout=subprocess.DEVNULL,
        )  # fmt: skip
    return path


def drawing_in(members: tarfile.TarFile, path: str) -> str:
    """One drawing: a file of the package, or `icons.json#name` of an icon set."""
    name, _, icon = path.partition("#")
    member = members.getmember(f"package/{name}")
    file = members.extractfile(member)
    if file is None or member.size > MOST_BYTES:
        raise ValueError(f"{path}: not a file of at most {MOST_BYTES} bytes")
    text = file.read(MOST_BYTES).decode("utf-8")
    if not icon:
        return text
    known = json.loads(text)
    found = known["icons"][icon]
    side = [found.get(key, known.get(key, 16)) for key in ("width", "height")]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side[0]} {side[1]}">'
        f"{found['body']}</svg>"
    )


def hashed(text: str) -> str:
    """SHA-256 of a drawing."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


if __name__ == "__main__":
    sys.exit(main())
