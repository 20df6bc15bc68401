"""One finished plan on the bench: its rig, its frames as judged, its verdict."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from panelbeater.animation import ShotPlan
from panelbeater.errors import DrawingError
from panelbeater.exports import frame_lines, header_line
from panelbeater.geometry.stage import all_bone_outlines, all_piece_outlines, piece_scales
from panelbeater.reopen import limits_of, open_plan
from panelbeater.scores import (
    BoneShape,
    DrawnPiece,
    Frame,
    Limits,
    RegionShape,
    Scores,
    Shot,
    parse_frames,
    score_shot,
)
from panelbeater.terms.figure import Figure
from panelbeater.verdict import allowances_of, covers_of, frames_of


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """What every question of the report is asked of."""

    name: str
    plan: ShotPlan
    shot: Shot
    """All whole frames, as the judge reads them."""
    scores: Scores
    limits: Limits


def open_case(out: Path) -> Case:
    """A plan from its folder, judged afresh with the limits it was planned with.

    Raises DrawingError when the folder holds no readable plan.
    """
    plan = open_plan(out)
    if plan.rig.shot.reverse or plan.rig.shot.only:
        raise DrawingError(
            f"{out}: only the whole change from vehicle to robot can be strained; plan it "
            "without --reverse and --only"
        )
    limits = limits_of(out)
    shot, half = frames_of(plan)
    scores = score_shot(
        shot, half_frames=half, limits=limits, allowances=allowances_of(plan)
    )
    return Case(plan.rig.shot.title, plan, shot, scores, limits)


def judge_take(case: Case, plan: ShotPlan) -> Scores:
    """The verdict on a re-plan, at whole frames."""
    return judge_shot(case, take_of(plan, case.shot), plan)


def judge_shot(case: Case, shot: Shot, plan: ShotPlan, *, stills: bool = False) -> Scores:
    """The verdict on finished frames of a plan; layout scores are taken over where the
    first and the last frame are those of the case, else all but the slow ones measured.
    With `stills` the frames are picked ones.
    """
    return score_shot(
        shot,
        limits=case.limits,
        allowances=allowances_of(plan),
        earlier=(case.shot, case.scores),
        quick=True,
        stills=stills,
    )


def take_of(plan: ShotPlan, like: Shot) -> Shot:
    """The frames of a re-plan as the judge reads them, without a detour through text.

    A re-plan with other pieces is written out and read back instead.
    """
    rig, sample = plan.rig, plan.sample
    covers = covers_of(plan)
    ids = [piece.id for piece in rig.drawing.pieces]
    first = like.frames[0]
    if ids != [p.id for p in first.pieces]:
        times = range(rig.shot.n_frames)
        lines = frame_lines(rig, sample, covers, times=times)
        return parse_frames([header_line(rig), *lines])
    scales = piece_scales(sample)
    drawn, bare = all_piece_outlines(rig, sample), all_bone_outlines(rig, sample)
    last = max(rig.shot.n_frames - 1, 1)
    frames = []
    for row in range(rig.shot.n_frames):
        bones = tuple(
            BoneShape(bone.id, bone.controller, outline)
            for bone, outline in zip(first.bones, bare[row], strict=True)
        )
        pieces = tuple(
            DrawnPiece(
                track.piece, track.bone, covers[track.piece], int(depth), float(scale),
                bool(visible), outline, is_redrawn=bool(redrawn),
            )
            for track, depth, scale, visible, outline, redrawn in zip(
                rig.tracks, rig.depth[row], scales[row], sample.visible[row], drawn[row],
                sample.redrawn[row], strict=True,
            )
        )  # fmt: skip
        frames.append(Frame(float(row), row / last, bones, pieces))
    like = _on_figure(like, rig.figure)
    return replace(like, fps=float(rig.shot.fps), frames=tuple(frames))


def _on_figure(shot: Shot, figure: Figure) -> Shot:
    """The shot with another figure's silhouette and regions, where it is another."""
    if figure.silhouette.equals_exact(shot.figure, 1e-6 * figure.height):
        return shot
    regions = tuple(
        RegionShape(bone.id, bone.controller, bone.region) for bone in figure.bones
    )
    return replace(shot, figure=figure.silhouette, regions=regions)
