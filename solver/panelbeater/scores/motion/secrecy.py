"""Are pieces resized only where nobody notices?"""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.arrays import Flags
from panelbeater.scores.motion.drawings import Drawings
from panelbeater.scores.result import Score, Target
from panelbeater.terms.arrays import Ints


def score_secrecy(drawings: Drawings) -> tuple[Score, ...]:
    """Secrecy: share of resizing that happens outside the hiding gate.

    Per piece and step c = |ln(s'/s)|, s = sqrt(area / input area); the score is the share
    of the sum of c * input area outside the gate. The gate is open for a mover at 1.3 % W a
    frame or faster, with two coherent movers within W/4, that is not the piece the eye
    follows (the mover of largest area * speed), and with c at most 0.10 a frame. Wanted: at
    most 0.05 (metrics.md; Suchow & Alvarez 2011, Turi & Burr 2013; "near" and the followed
    piece are the project's). The series is the resizing seen in each frame, as a share of
    all resizing.
    """
    tracks, limits = drawings.tracks, drawings.tracks.limits
    seen = np.zeros(drawings.n_steps)
    if drawings.n_steps == 0:
        return ()
    rows = drawings.rows
    both = tracks.visible[rows[1:]] & tracks.visible[rows[:-1]]
    scale = np.where(tracks.area[rows] > 0, tracks.measured_scale[rows], 1.0)
    change = np.abs(np.diff(np.log(scale), axis=0)) * both  # (n_steps, n_pieces)
    amount = change * shapely.area(tracks.inputs)
    gentle = change / drawings.exposure <= limits.hiding_change
    for at in range(drawings.n_steps):
        hidden = _gate(drawings, at) & gentle[at]
        seen[at] = amount[at, ~hidden].sum()
    total = float(amount.sum())
    # Below the file's rounding nothing was resized, and a share of nothing says nothing.
    if total <= 1e-6 * float(shapely.area(tracks.inputs).sum()):
        total, seen = 1.0, np.zeros_like(seen)
    target = Target(high=limits.secrecy)
    series = drawings.per_frame(seen / total / drawings.exposure)
    return (Score("secrecy", float(seen.sum()) / total, "share seen", target, series),)


def _gate(drawings: Drawings, at: int) -> Flags:
    """(n_pieces,), pieces whose resizing would go unnoticed in this step."""
    tracks, limits = drawings.tracks, drawings.tracks.limits
    is_open = np.zeros(len(tracks.piece_ids), dtype=np.bool_)
    movers: Ints = np.flatnonzero(drawings.moving[at])
    if len(movers) == 0:
        return is_open
    row = drawings.rows[at]
    speed = drawings.length[at, movers] / drawings.exposure
    gap = tracks.centroid[row, movers][:, None] - tracks.centroid[row, movers][None, :]
    near = np.hypot(gap[..., 0], gap[..., 1]) <= limits.hiding_near * tracks.width
    friends = drawings.coherent(at, movers) & near
    np.fill_diagonal(friends, val=False)
    fast = speed >= limits.hiding_speed * tracks.width
    hidden = fast & (friends.sum(axis=1) >= limits.hiding_neighbours)
    hidden[int(np.argmax(tracks.area[row, movers] * speed))] = False
    is_open[movers] = hidden
    return is_open
