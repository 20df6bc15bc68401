"""Hostile and broken lists, briefs, poses, plans and frames files."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import numpy as np

from tests.hostile.drawings import READ, REFUSED, TOLD, Files, Hostile
from tests.hostile.good import BRIEF, PIECES, POSE, plan_text, plan_values
from tests.scores.shots import still_scene

HEADER = PIECES.partition("\n")[0]
NOISE = np.random.default_rng(2).bytes(20_000)
DIGITS = "9" * 5000


def _of(name: str, content: str | bytes, says: str = "", outcome: str = REFUSED) -> Hostile:
    return Hostile(name, lambda: content, outcome, says)


LISTS: Files = (
    _of("empty", b"", "first line"),
    _of("noise", NOISE, "UTF-8"),
    _of("utf-16", PIECES.encode("utf-16"), "UTF-8"),
    _of("byte-order-mark", b"\xef\xbb\xbf" + PIECES.encode(), outcome=READ),
    _of("semicolons", PIECES.replace(",", ";"), outcome=READ),
    _of("short-rows", "piece,kind,pin\ncab\nroof,panel\n", outcome=READ),
    _of("long-row", "piece,kind\ncab,panel,head\n", "3 cells under 2 columns"),
    _of("open-quote", 'piece,kind\ncab,"panel\nroof,panel\n', "line"),
    _of("null-bytes", "piece,kind\ncab,pa\0nel\n", "line"),
    _of("no-header", "cab,panel\n", "first line"),
    _of("column-twice", "piece,kind,kind\ncab,panel,wheel\n", "twice"),
    _of("unknown-column", "piece,colour\ncab,red\n", "no column 'colour'"),
    _of("piece-twice", "piece,kind\ncab,panel\ncab,wheel\n", "listed twice"),
    _of("unknown-piece", "piece,kind\ncba,panel\n", "did you mean 'cab'"),
    _of("old-part", "piece,kind\ncab.7,panel\n", "ignored", TOLD),
    _of("many-faults", "piece,kind,pin\ncab,sail,tail\nroof,x,y\n", "no region 'tail'"),
    _of("line-break-in-name", 'piece,kind\n"ca\nb",panel\n', "no piece"),
    _of("escape-codes", "piece,kind\n\x1b[2Jcab,panel\n", "no piece"),
    _of("nan", "piece,scale_min\ncab,nan\n", "scale_min is 'nan'"),
    _of("infinite", "piece,scale_max\ncab,1e999\n", "scale_max is '1e999'"),
    _of("long-number", f"piece,scale_max\ncab,{DIGITS}\n", "scale_max is"),
    _of("long-cell", f"piece,kind\ncab,{'x' * 200_000}\n", "line"),
    _of("long-word", f"piece,kind\n{'x' * 100_000},panel\n", "no piece"),
    _of("too-large", "piece,kind\n" + "cab,panel\n" * 200_000, "1 MiB"),
)
BRIEFS: Files = (
    _of("empty", b"", "vehicle"),
    _of("noise", NOISE, "UTF-8"),
    _of("utf-16", BRIEF.encode("utf-16"), "UTF-8"),
    _of("byte-order-mark", b"\xef\xbb\xbf" + BRIEF.encode(), outcome=READ),
    _of("cut-short", BRIEF[: BRIEF.index('"hand_l"') + 4], "not valid TOML"),
    _of("nan-budget", BRIEF.replace("0.5", "nan"), "budget"),
    _of("infinite-height", "figure_height = inf\n" + BRIEF, "figure_height"),
    _of("nan-height", "figure_height = nan\n" + BRIEF, "figure_height"),
    _of("nan-limit", BRIEF.replace("0.001", "nan"), "clash"),
    _of("long-number", BRIEF.replace("48", DIGITS), "4300 digits"),
    _of("large-number", BRIEF.replace("48", "9" * 400), "frames"),
    _of("deep-lists", f"a = {'[' * 20_000}{']' * 20_000}\n" + BRIEF, "nested"),
    _of("deep-tables", "[" + "a." * 20_000 + "a]\n", "unknown key"),
    _of("key-twice", BRIEF + "frames = 24\nframes = 48\n", "not valid TOML"),
    _of("table-twice", BRIEF + "[pin]\nroof = 'head'\n", "not valid TOML"),
    _of("unknown-key", "frame = 48\n" + BRIEF, "did you mean 'frames'"),
    _of("line-break-in-key", '"fra\\nme" = 48\n' + BRIEF, "unknown key"),
    _of("wrong-kinds", BRIEF.replace("48", '"many"'), "frames"),
    _of("unknown-region", BRIEF.replace('"head"', '"hat"'), "no region 'hat'"),
    _of(
        "pinned-and-banned", BRIEF.replace("roof", "cab").replace("hand_l", "head"), "drop"
    ),
    _of("null-in-pose", 'poses = ["a\\u0000b"]\n' + BRIEF, "pose"),
    _of("missing-pose", 'poses = ["nothing.json"]\n' + BRIEF, "no such pose"),
    _of("too-large", BRIEF + "#" * 2**20, "1 MiB"),
)


def _pose(**changed: Any) -> str:
    return json.dumps({**json.loads(POSE), **changed})


POSES: Files = (
    _of("empty", b"", "not a pose"),
    _of("noise", NOISE, "not a pose"),
    _of("cut-short", POSE[:40], "not a pose"),
    _of("nan-turn", POSE.replace("0.1", "NaN"), "torso"),
    _of("endless-turn", POSE.replace("0.1", "1e300"), "torso"),
    _of("far-root", _pose(root=[1e300, 0]), "root"),
    _of("long-number", POSE.replace("30", DIGITS), "4300 digits"),
    _of("deep", "[" * 30_000, "not a pose"),
    _of("unknown-bone", _pose(turns={"tail": 1}), "no bone 'tail'"),
    _of("flat-scale", _pose(scales={"shank_l": [0, 1]}), "shank_l"),
    _of("from-the-future", _pose(version=2), "version"),
    _of("too-large", POSE + " " * 2**17, "larger"),
    _of("line-break-in-key", _pose(**{"a\nb": 1}), "a b"),
)


def _plan(change: Callable[[Any], object]) -> Callable[[], str]:
    def make() -> str:
        values = plan_values()
        change(values)
        return json.dumps(values)

    return make


def _tampered(name: str, change: Callable[[Any], object], says: str = "") -> Hostile:
    return Hostile(name, _plan(change), REFUSED, says)


def _nested(values: Any) -> None:
    values["silhouette"] = "GEOMETRYCOLLECTION (" * 100_000 + "POINT (0 0)" + ")" * 100_000


PLANS: Files = (
    _of("empty", b"", "not a plan"),
    _of("noise", NOISE, "not a plan"),
    Hostile("good", plan_text, READ),
    Hostile("cut-short", lambda: plan_text()[:3000], REFUSED, "not a plan"),
    _of("deep", "[" * 100_000, "not a plan"),
    _of("a-list", "[1, 2]", "version"),
    _tampered("from-the-future", lambda v: v.update(version=99), "version 99"),
    _tampered("from-long-ago", lambda v: v.update(version=-1), "version -1"),
    _tampered("nan", lambda v: v.update(ground=float("nan")), "ground"),
    _tampered("far-away", lambda v: v["bones"][3].update(start=[1e300, 0]), "beyond"),
    _tampered("large-depth", lambda v: v["depth"][0].__setitem__(0, 10**400)),
    _tampered("lost-frame", lambda v: v["depth"].pop(), "shape"),
    _tampered("lost-piece", lambda v: v["pieces"].pop(), "track"),
    _tampered("lost-bone", lambda v: v["bones"].pop(), "bones"),
    _tampered("no-pieces", lambda v: v.update(pieces=[], tracks=[]), "no pieces"),
    _tampered("no-frames", lambda v: v["shot"].update(n_frames=0), "0 frames"),
    _tampered("no-speed", lambda v: v["shot"].update(fps=0), "at 0 a second"),
    _tampered("endless", lambda v: v["shot"].update(n_frames=10**12), "frames"),
    _tampered("backwards", lambda v: v["tracks"][0].update(start=9, end=9), "moves from"),
    _tampered("no-keys", lambda v: v["tracks"][0].update(key_u=[], key_channels=[])),
    _tampered("falling-keys", lambda v: v["tracks"][0].update(key_u=[1.0, 0.0]), "rise"),
    _tampered("unknown-bone", lambda v: v["tracks"][0].update(bone="tail"), "tail"),
    _tampered("no-outline", lambda v: v.update(silhouette="POLYGON EMPTY"), "EMPTY"),
    _tampered("nested-outline", _nested, "polygon"),
    _tampered(
        "endless-outline",
        lambda v: v["pieces"][0].update(outline="POLYGON ((0 0, 1e308 0, 0 1, 0 0))"),
        "beyond",
    ),
    _tampered("extra-key", lambda v: v.update({"a\nb": 1}), "a b"),
    _tampered("long-key", lambda v: v.update({"x" * 10**6: 1})),
)


def _frames(line: int, change: Callable[[Any], object]) -> Callable[[], str]:
    def make() -> str:
        lines = still_scene().lines()
        row = json.loads(lines[line])
        change(row)
        return "\n".join([*lines[:line], json.dumps(row), *lines[line + 1 :]])

    return make


def _bad_frames(
    name: str, line: int, change: Callable[[Any], object], says: str
) -> Hostile:
    return Hostile(name, _frames(line, change), REFUSED, says)


FRAMES: Files = (
    _of("empty", b"", "line 1"),
    _of("noise", NOISE, "UTF-8"),
    _of("deep", "[" * 100_000, "line 1"),
    _of("long-number", f'{{"fps": {DIGITS}}}', "line 1"),
    Hostile("cut-short", lambda: "\n".join(still_scene().lines()[:4]), REFUSED, "line 4"),
    _bad_frames("endless-speed", 0, lambda r: r.update(fps=1e-300), "fps"),
    _bad_frames("from-the-future", 0, lambda r: r.update(version=7), "version 7"),
    _bad_frames("endless-ground", 0, lambda r: r.update(ground=1e300), "ground"),
    _bad_frames("endless-depth", 2, lambda r: r["pieces"][0].update(depth=1e300), "depth"),
    _bad_frames("no-scale", 2, lambda r: r["pieces"][0].update(scale=0), "scale"),
    _bad_frames("endless-scale", 2, lambda r: r["pieces"][0].update(scale=1e300), "scale"),
    _bad_frames(
        "endless-outline",
        3,
        lambda r: r["pieces"][0].update(wkt="POLYGON ((0 0, 1e308 0, 0 1e308, 0 0))"),
        "beyond",
    ),
    _bad_frames(
        "nested-outline",
        1,
        lambda r: r["bones"][0].update(wkt="GEOMETRYCOLLECTION (" * 100_000),
        "POLYGON",
    ),
)
