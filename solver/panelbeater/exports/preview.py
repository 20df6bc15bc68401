"""The preview page: one offline file to play, step through and question the shot."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Mapping, Sequence
from html import escape
from importlib.resources import files
from pathlib import Path
from string import Template
from typing import Any

import numpy as np

from panelbeater.exports.alternates import Choice, choice_data
from panelbeater.exports.compose import (
    Painted,
    Window,
    body_paint,
    matrix,
    number,
    paint,
    stage_window,
)
from panelbeater.exports.files import write_whole
from panelbeater.exports.shot_data import shot_data
from panelbeater.exports.words import FLASH_CAUTION, facts
from panelbeater.geometry.stage import bone_transforms, drawn_centroids
from panelbeater.terms.assignment import Cover
from panelbeater.terms.rig import Rig, Sample

SCRIPTS = (
    "rig.js", "changes.js", "words.js", "depth.js", "stage.js", "shape.js", "skins.js",
    "handles.js", "body.js", "clean.js", "swap.js", "poses.js", "alternates.js", "strip.js",
    "lists.js", "checks.js", "page.js",
)  # fmt: skip
"""One for each thing the page does; the equation comes first, the wiring last."""
STYLES = ("page.css", "panels.css")


def export_page(
    rig: Rig,
    sample: Sample,
    path: Path,
    *,
    scores: Mapping[str, Any],
    covers: Sequence[Cover],
    choice: Choice | None = None,
) -> None:
    """Write preview.html: asks for nothing outside itself, starts paused at frame 1.

    `sample` holds one moment per frame. `scores` is the content of scores.json ("promises",
    "layout" and "motion"; missing ones are left out of the page). `covers` are in the order
    of the drawing's pieces. `choice` sets other layouts of the same drawings beside it.
    Raises DrawingError on artwork that is not XML.
    """
    window = stage_window(rig, sample)
    painted = paint(rig, window.decimals)
    data = shot_data(rig, sample, window, scores=scores, covers=covers)
    if choice:
        data["alternates"] = choice_data(choice, decimals=window.decimals)
    script = '"use strict";\n(() => {\n' + "".join(map(_source, SCRIPTS)) + "})();\n"
    page = Template(_source("page.html")).substitute(
        policy=_policy(script),
        title=escape(rig.shot.title),
        facts=escape(facts(rig)),
        caution=FLASH_CAUTION,
        style="".join(map(_source, STYLES)),
        script=script,
        # Nothing in the data may end its script block.
        shot=json.dumps(data, allow_nan=False, separators=(",", ":")).replace(
            "<", "\\u003c"
        ),
        last=rig.shot.n_frames - 1,
        view_box=window.view_box,
        ground=f"M{window.x:.6g} {rig.ground:.6g}h{window.width:.6g}",
        body_paint=body_paint(window),
        defs=painted.defs,
        bones=_bones(rig, sample, painted, window),
        pieces=_pieces(rig, painted, window),
    )
    write_whole(path, [page.encode()])


def _source(name: str) -> str:
    return files("panelbeater.exports").joinpath("page", name).read_text(encoding="utf-8")


def _policy(script: str) -> str:
    """Only this very script may run; artwork may bring styles and pictures of its own."""
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return (
        f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'unsafe-inline'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


def _bones(rig: Rig, sample: Sample, painted: Painted, window: Window) -> str:
    first = bone_transforms(rig, sample)[0]
    return "".join(
        f'<path d="{data}" transform="{matrix(transform, window.decimals)}"/>'
        for data, transform in zip(painted.bones, first, strict=True)
    )


def _pieces(rig: Rig, painted: Painted, window: Window) -> str:
    """Artwork far to near as at frame 1, each so placed that one matrix moves it."""
    decimals = window.decimals + 2
    centres = drawn_centroids(rig.drawing.pieces)
    groups = []
    for i in np.argsort(rig.depth[0], kind="stable"):
        x, y = (number(float(v), decimals) for v in centres[i])
        back_x, back_y = (number(-float(v), decimals) for v in centres[i])
        groups.append(
            f'<g class="piece" data-index="{i}" transform="translate({x} {y})">'
            f'<g id="art-{i}" transform="translate({back_x} {back_y})">'
            f"{painted.looks.groups(int(i), window.decimals)}</g></g>"
        )
    return "".join(groups)
