"""Drawings of other people are named to the byte, and one that differs is left out."""

from __future__ import annotations

import csv
import io
import json
import re
import tarfile
from pathlib import Path

import pytest

from benchmarks import corpus
from benchmarks.sources import HERE

DOT = '<path d="M0 0h1v1z"/>'


def package(folder: Path, name: str, **files: str) -> Path:
    path = folder / f"{name}-1.0.0.tgz"
    with tarfile.open(path, "w:gz") as members:
        for place, text in files.items():
            facts = tarfile.TarInfo(f"package/{place}")
            facts.size = len(text)
            members.addfile(facts, io.BytesIO(text.encode()))
    return path


def test_a_drawing_comes_as_a_file_or_out_of_an_icon_set(tmp_path: Path) -> None:
    icons = json.dumps({"height": 32, "icons": {"van": {"body": DOT, "width": 24}}})
    packed = package(
        tmp_path, "set", **{"icons.json": icons, "van.svg": f"<svg>{DOT}</svg>"}
    )
    with tarfile.open(packed) as members:
        assert corpus.drawing_in(members, "van.svg") == f"<svg>{DOT}</svg>"
        van = corpus.drawing_in(members, "icons.json#van")
    assert 'viewBox="0 0 24 32"' in van
    assert DOT in van


def test_a_drawing_whose_hash_differs_is_named_and_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    cache = tmp_path / ".cache"
    cache.mkdir()
    package(cache, "set", **{"a.svg": "<svg/>", "b.svg": "<svg>other</svg>"})
    (tmp_path / "cases").mkdir()
    rows = [["kind", "name", "package", "version", "path", "licence", "sha256"]]
    for name in "ab":
        path, known = f"{name}.svg", corpus.hashed("<svg/>")
        rows.append(["vehicle", name, "set", "1.0.0", path, "MIT", known])
    with (tmp_path / "cases" / "corpus.csv").open("w", newline="") as file:
        csv.writer(file).writerows(rows)
    monkeypatch.setattr(corpus, "CACHE", cache)
    monkeypatch.setattr(corpus, "HERE", tmp_path)
    assert corpus.main() == 1
    assert (cache / "drawings" / "vehicle-a.svg").read_text() == "<svg/>"
    assert not (cache / "drawings" / "vehicle-b.svg").exists()
    assert "set b.svg: hash" in capsys.readouterr().out


def test_the_list_holds_forty_vehicles_and_eight_figures_with_licence_and_hash() -> None:
    with (HERE / "cases" / "corpus.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    kinds = [row["kind"] for row in rows]
    assert kinds.count("vehicle") >= 40
    assert kinds.count("figure") >= 8
    assert len({(row["kind"], row["name"]) for row in rows}) == len(rows)
    for row in rows:
        assert row["licence"], row["name"]
        assert re.fullmatch(r"\d+\.\d+\.\d+", row["version"]), row["name"]
        assert re.fullmatch(r"[0-9a-f]{64}", row["sha256"]), row["name"]
