"""Panelbeater from Python: read drawings, plan a shot, sample the rig, write it out."""

from __future__ import annotations

import base64
import tempfile
from collections.abc import Mapping, Sequence
from functools import cached_property
from html import escape
from importlib.resources import files
from pathlib import Path

import numpy as np

from panelbeater.animation import ShotPlan
from panelbeater.deliver import deliver
from panelbeater.drawing import read_drawing as _read_drawing
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import DrawingError
from panelbeater.exports import export_contact_sheet
from panelbeater.figure import read_figure as _read_figure
from panelbeater.reopen import open_plan as _open_plan
from panelbeater.rig import sample_rig
from panelbeater.scores import Scores
from panelbeater.shot import Request, plan_shot
from panelbeater.terms.arrays import Floats
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing, Wishes
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Pose
from panelbeater.terms.rig import Rig, Sample
from panelbeater.terms.timing import ACTIONS, LIMBS, ShotOptions
from panelbeater.unfold import read_pose
from panelbeater.verdict import captions, judge


def demo_drawings() -> tuple[Path, Path]:
    """The bundled vehicle and figure, two SVG files to try things on.

    >>> import panelbeater
    >>> vehicle, figure = panelbeater.demo_drawings()
    >>> vehicle.name, figure.name
    ('crane_lorry.svg', 'dock_hand.svg')
    """
    folder = Path(str(files("panelbeater"))) / "demo"
    return folder / "crane_lorry.svg", folder / "dock_hand.svg"


def read_drawing(vehicle: str | Path, *, pieces: str | Path | None = None) -> Drawing:
    """The vehicle and its cut-out pieces, far to near, in drawing units with y down.

    `pieces` is an edited piece list (CSV). Raises DrawingError, one line a problem.

    >>> import panelbeater
    >>> vehicle, _ = panelbeater.demo_drawings()
    >>> drawing = panelbeater.read_drawing(vehicle)
    >>> len(drawing.pieces) > 20
    True
    >>> sorted({piece.kind for piece in drawing.pieces})[:3]
    ['bumper', 'lamp', 'other']
    """
    return _read_drawing(Path(vehicle), piece_list=Path(pieces) if pieces else None)


def read_figure(figure: str | Path) -> Figure:
    """The standing figure with fifteen bones and the region each carries.

    Raises DrawingError, one line a problem.

    >>> import panelbeater
    >>> _, figure = panelbeater.demo_drawings()
    >>> standing = panelbeater.read_figure(figure)
    >>> [bone.id for bone in standing.bones[:3]]
    ['waist', 'torso', 'head']
    """
    return _read_figure(Path(figure))


class Plan:
    """A finished shot: its rig to sample, its scores, and its files.

    Shown in a notebook it is the contact sheet above the verdict.

    >>> import panelbeater
    >>> shot = panelbeater.plan(*panelbeater.demo_drawings(), frames=24, budget=0.1)
    >>> len(shot.rig.tracks) == len(shot.rig.drawing.pieces)
    True
    >>> shot.scores.promises[0].name
    'vehicle error'
    >>> sum(cover.gain for cover in shot.assignment.covers) > 0
    True
    """

    def __init__(self, shot: ShotPlan) -> None:
        self._shot = shot

    @property
    def rig(self) -> Rig:
        """Drawing, figure, body action, and a track for each piece."""
        return self._shot.rig

    @property
    def assignment(self) -> Assignment:
        """Which piece covers which region and why, with the proven bound."""
        return self._shot.assignment

    @cached_property
    def scores(self) -> Scores:
        """Promises kept or broken and scores; judged once, which takes a few seconds."""
        return judge(self._shot)

    def sample(
        self, times: Floats | Sequence[float] | None = None, *, pose: Pose | None = None
    ) -> Sample:
        """Where everything is, as arrays, at some frames counted from 0.

        times : (n_times,), fractions allowed; every whole frame when left out.
        pose : another body action with leading axis n_times; the armour follows it.
        Gives `stage_from_piece` (n_times, n_pieces, 3, 3) and `stage_from_bone`
        (n_times, n_bones, 3, 3), drawing units, y down.

        >>> import panelbeater
        >>> shot = panelbeater.plan(*panelbeater.demo_drawings(), frames=24, budget=0.1)
        >>> shot.sample([0, 11.5, 23]).stage_from_piece.shape[0]
        3
        >>> len(shot.sample().stage_from_piece)
        24
        """
        if times is None:
            times = np.arange(self.rig.shot.n_frames, dtype=np.float64)
        return sample_rig(self.rig, np.asarray(times, dtype=np.float64), pose=pose)

    def write(self, out: str | Path, *, allow_flashing: bool = False) -> Path:
        """Write every file of the plan into a folder, as `panelbeater plan -o` does.

        Of a shot that fails the flash meter preview.html and rig.svg show stills, unless
        `allow_flashing` says that they may move.
        Raises DrawingError when `out` cannot be a folder. Gives the folder.

        >>> import panelbeater, tempfile
        >>> shot = panelbeater.plan(*panelbeater.demo_drawings(), frames=24, budget=0.1)
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     out = shot.write(folder)
        ...     (out / "preview.html").exists()
        True
        """
        deliver(self._shot, Path(out), allow_flashing=allow_flashing)
        return Path(out)

    def __repr__(self) -> str:
        shot = self.rig.shot
        return (
            f"<Plan {shot.title!r}: {len(self.rig.tracks)} pieces, {shot.n_frames} frames>"
        )

    def _repr_html_(self) -> str:
        """Contact sheet and verdict for a notebook; nothing is fetched."""
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "contact-sheet.png"
            export_contact_sheet(
                self.rig, self._shot.sample, path, captions=captions(self.scores)
            )
            picture = base64.b64encode(path.read_bytes()).decode()
        title = escape(self.rig.shot.title)
        rows = "".join(
            f"<tr><th>{escape(p.name)}</th><td>{p.value:.4g}</td>"
            f"<td>{'kept' if p.kept else 'broken'}</td></tr>"
            for p in self.scores.promises
        ) + "".join(
            f"<tr><th>{escape(s.name)}</th><td>{s.value:.4g} {escape(s.unit)}</td>"
            f"<td>{'' if s.on_target else 'missed'}</td></tr>"
            for s in (*self.scores.layout, *self.scores.motion)
        )
        return (
            f'<figure><img alt="Contact sheet of {title}, vehicle to robot" '
            f'style="max-width:100%" src="data:image/png;base64,{picture}"></figure>'
            f"<details><summary>Promises and scores</summary><table><tbody>{rows}"
            "</tbody></table></details>"
        )


def plan(
    vehicle: str | Path,
    figure: str | Path,
    *,
    pieces: str | Path | None = None,
    poses: Sequence[str | Path] = (),
    pins: Mapping[str, str] | None = None,
    bans: Mapping[str, Sequence[str]] | None = None,
    figure_height: float | None = None,
    frames: int = 72,
    fps: int = 24,
    exposure: int = 1,
    seed: int = 1,
    budget: float = 1.0,
    title: str | None = None,
    action: str = "rise",
    reverse: bool = False,
    only: Sequence[str] = (),
    effort: Effort = QUIET,
) -> Plan:
    """Plan a shot from two drawings; the options are those of the brief.

    pieces : edited piece list (CSV); poses : pose files saved from the preview page.
    pins : piece id to the region it must cover; bans : to those it must not.
    figure_height : of the robot, in units of the vehicle drawing.
    action : "rise" or "crouch"; reverse : from robot to vehicle; only : limbs that open
    while all else stays the vehicle.
    Same input and seed give the same plan. Raises DrawingError for unusable files or
    options, NoFoldError and NoAssignmentError when no plan exists.

    >>> import panelbeater
    >>> vehicle, figure = panelbeater.demo_drawings()
    >>> panelbeater.plan(vehicle, figure, frames=24, budget=0.1)
    <Plan 'crane_lorry': 36 pieces, 24 frames>
    """
    _check_options(frames, fps, exposure, seed, budget)
    _check_names("action", [action], ACTIONS)
    _check_names("limb", only, LIMBS)
    pins, bans = pins or {}, bans or {}
    wishes = {
        piece: Wishes(pins.get(piece), tuple(bans.get(piece, ())))
        for piece in sorted({*pins, *bans})
    }
    name = title or Path(vehicle).stem
    request = Request(
        Path(vehicle), Path(figure), Path(pieces) if pieces else None,
        figure_height=figure_height, wishes=wishes,
        shot=ShotOptions(
            frames, fps, exposure, seed, budget, name,
            action=action, reverse=reverse, only=tuple(dict.fromkeys(only)),
        ),
        poses=tuple(read_pose(Path(path)) for path in poses),
    )  # fmt: skip
    return Plan(plan_shot(request, effort))


def open_plan(path: str | Path) -> Plan:
    """A plan written earlier, from its plan.json or the folder it lies in.

    Raises DrawingError when there is no such plan.

    >>> import panelbeater, tempfile
    >>> shot = panelbeater.plan(*panelbeater.demo_drawings(), frames=24, budget=0.1)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     panelbeater.open_plan(shot.write(folder))
    <Plan 'crane_lorry': 36 pieces, 24 frames>
    """
    return Plan(_open_plan(Path(path)))


def _check_names(what: str, given: Sequence[str], known: Sequence[str]) -> None:
    for name in given:
        if name not in known:
            raise DrawingError(f"no {what} {name!r}; there are {', '.join(known)}")


def _check_options(frames: int, fps: int, exposure: int, seed: int, budget: float) -> None:
    """The same limits as the brief's, so that a typing mistake does not cost a minute."""
    problems = [
        f"{name} = {value!r}: give {low} to {high}"
        for name, value, low, high in (
            ("frames", frames, 24, 1000),
            ("fps", fps, 1, 120),
            ("exposure", exposure, 1, 4),
            ("seed", seed, 0, 2**31 - 1),
            ("budget", budget, 0.01, 1000),
        )
        if not low <= value <= high
    ]
    if problems:
        raise DrawingError("\n".join(problems))
