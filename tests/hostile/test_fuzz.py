"""Good files with a few bytes or words changed are read or refused, never a crash."""

from __future__ import annotations

import copy
import re
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from panelbeater.brief import read_brief
from panelbeater.drawing import apply_piece_list
from panelbeater.errors import PanelbeaterError
from panelbeater.figure import read_figure
from panelbeater.geometry.stage import piece_outlines
from panelbeater.rig import plan_from_json, sample_rig
from panelbeater.scores import parse_frames, score_shot
from panelbeater.svg import read_svg
from panelbeater.unfold import read_pose
from tests.hostile.good import BRIEF, FEW, FIGURE, PIECES, POSE, plan_values, sheet
from tests.scores.shots import still_scene
from tests.vehicles import yard_tractor

ART = sheet(
    '<style>.w{fill:#333;stroke:red} g > path{opacity:.5}</style>'
    '<linearGradient id="l" x1="0%" gradientUnits="userSpaceOnUse">'
    '<stop offset=".3" stop-color="rgb(1,2,3)"/></linearGradient>'
    '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height=".5"/>'
    '</clipPath><symbol id="s" viewBox="0 0 9 9"><circle r="4" cx="4" cy="4"/></symbol>'
    '<g id="cab" transform="translate(3,4) rotate(5 1 2)" transform-origin="50% 1px">'
    '<path class="w" id="door" d="M1 2 3-4C5 6 7 8 9 10S1 1 2 2Q3 3 4 4T5 5'
    'a5 5 0 0 1 9 9 h3v-3z" stroke-width="2" stroke-dasharray="3 1 2"/>'
    '<rect x="1mm" width="40%" height="20" rx="3" clip-path="url(#c)" fill="url(#l)"/>'
    '</g><use href="#s" x="9" width="30" height="20"/><use href="#cab" x="20"/>'
    '<polygon points="50,50 90,50 90,90" fill="hsl(20,30%,40%)" fill-rule="evenodd"/>'
)  # fmt: skip
WORDS = (
    "", "0", "-1", "1e9", "1e-320", "1e999", "nan", "-inf", "%", "url(#c)", "url(#", "#s",
    "M", "z", "\0", "\n", "\u0663", "\ufeff", "é", "&amp;", "&x;", "<", ">", "'", '"', ";",
    ",", "[", "{", "]]>", "none", "inherit", "true", "null", "9" * 5000, "a" * 3000,
    "matrix(1 0 0 0 0 0)", "scale(0)", "1e5", "100%", "-1%", "auto", "[[", "= =",
)  # fmt: skip
_TOKENS = re.compile(r"[\w.#-]+|\s+|.", re.DOTALL)


@st.composite
def broken(draw: st.DrawFn, good: str) -> bytes:
    """One to four changes of words, or of bytes."""
    words = _TOKENS.findall(good)
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(words) - 1))
        how = draw(st.integers(0, 3))
        if how == 0:
            words[at] = draw(st.sampled_from(WORDS))
        elif how == 1:
            del words[at : at + draw(st.integers(1, 5))]
            words = words or [""]
        elif how == 2:
            words.insert(at, draw(st.sampled_from([*WORDS, *words[:50]])))
        else:
            other = draw(st.integers(0, len(words) - 1))
            words[at], words[other] = words[other], words[at]
    content = bytearray("".join(words).encode("utf-8", "surrogatepass"))
    for _ in range(draw(st.integers(0, 2))):
        if content:
            content[draw(st.integers(0, len(content) - 1))] = draw(st.integers(0, 255))
    return bytes(content)


def _tried(read: Callable[[Path], object], name: str, content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(content)
        try:
            read(path)
            return
        except PanelbeaterError as error:
            said = str(error)
    assert name in said
    assert all(line.isprintable() for line in said.splitlines())


@given(broken(ART))
def test_a_changed_drawing_is_read_or_refused(content: bytes) -> None:
    _tried(read_svg, "lorry.svg", content)


@FEW
@given(broken(FIGURE))
def test_a_changed_figure_is_read_or_refused(content: bytes) -> None:
    _tried(read_figure, "figure.svg", content)


@given(broken(PIECES))
def test_a_changed_piece_list_is_read_or_refused(content: bytes) -> None:
    _tried(lambda path: apply_piece_list(yard_tractor(), path), "pieces.csv", content)


@given(broken(BRIEF))
def test_a_changed_brief_is_read_or_refused(content: bytes) -> None:
    _tried(read_brief, "brief.toml", content)


@given(broken(POSE))
def test_a_changed_pose_is_read_or_refused(content: bytes) -> None:
    _tried(read_pose, "pose.json", content)


VALUES: st.SearchStrategy[Any] = st.sampled_from(
    [None, True, "", "x", "a\nb", 0, -1, 2, 1.5, 1e300, float("nan"), 10**400, [], [1], {}]
) | st.recursive(st.none() | st.integers() | st.text(max_size=5), st.lists, max_leaves=4)


@st.composite
def changed(draw: st.DrawFn, good: Callable[[], Any]) -> Any:
    """A JSON value with one to three of its leaves, lists or tables changed."""
    values = copy.deepcopy(good())
    for _ in range(draw(st.integers(1, 3))):
        at: Any = values
        while True:
            keys = list(at) if isinstance(at, dict) else list(range(len(at)))
            if not keys:
                break
            key = draw(st.sampled_from(keys))
            inner = at[key]
            if isinstance(inner, dict | list) and inner and draw(st.integers(0, 5)):
                at = inner
            elif draw(st.booleans()):
                at[key] = copy.deepcopy(draw(VALUES))
                break
            else:
                del at[key]
                break
    return values


@FEW
@given(changed(plan_values))
def test_a_changed_plan_plays_or_is_refused(values: Any) -> None:
    try:
        rig, _ = plan_from_json(values)
    except PanelbeaterError as error:
        said = str(error)
    else:
        said = ""
    assert said.isprintable()
    if said:
        return
    sample = sample_rig(rig, np.arange(rig.shot.n_frames, dtype=np.float64))
    assert len(piece_outlines(rig, sample, 0)) == len(rig.drawing.pieces)


@given(broken("\n".join(still_scene(3).lines())))
def test_a_changed_frames_file_is_judged_or_refused(content: bytes) -> None:
    try:
        shot = parse_frames(content.decode("utf-8", "replace").splitlines())
    except PanelbeaterError:
        return
    score_shot(shot).to_json()
