"""The exposure sheet: a row a frame, a column a piece, for any spreadsheet."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np

from panelbeater.exports.files import write_whole
from panelbeater.exports.words import actions, piece_steps, time_code
from panelbeater.terms.arrays import Floats
from panelbeater.terms.rig import Rig, Sample, Track

KEY_MARK = "*"
"""Follows the drawing number at a key: both ends of the shot, leaving and landing."""
HELD = "-"
STILL = 1e-6
"""Share of the figure's height a piece may creep and still count as held."""


def export_sheet(rig: Rig, sample: Sample, path: Path) -> None:
    """Write exposure-sheet.csv: frame (from 1), time, master, action, order, then pieces.

    Columns of pieces go from far to near as drawn. A cell is the number of the piece's
    drawing from 1, with a mark at keys, or a dash while it is held; `rig.shot.exposure`
    decides which frames may show a new drawing, and the last frame always may. `sample`
    holds one moment per frame.
    """
    columns = exposures(rig, sample)
    action = actions(rig, sample)
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(["frame", "time", "master", "action", "order", *columns])
    for frame in range(rig.shot.n_frames):
        writer.writerow(
            [
                frame + 1,
                time_code(frame, rig.shot.fps),
                f"{rig.shot.master(frame):.4f}",
                action[frame],
                order_changes(rig, frame),
                *(cells[frame] for cells in columns.values()),
            ]
        )
    write_whole(path, [stream.getvalue().encode()])


def exposures(rig: Rig, sample: Sample) -> dict[str, list[str]]:
    """Cells of every piece, one a frame, by its name; far to near as drawn."""
    travelled = np.cumsum(piece_steps(rig, sample), axis=0)  # (n_frames, n_pieces)
    return {
        rig.drawing.pieces[i].id: _column(rig, rig.tracks[i], travelled[:, i])
        for i in np.argsort(rig.depth[0], kind="stable")
    }


def exposed_frames(rig: Rig) -> list[int]:
    """Frames that may show a new drawing."""
    last = rig.shot.n_frames - 1
    return sorted({*range(0, last, rig.shot.exposure), last})


def _column(rig: Rig, track: Track, travelled: Floats) -> list[str]:
    """Cells of one piece, one a frame; `travelled` (n_frames,) is its way so far."""
    exposed = exposed_frames(rig)
    keys = {0, exposed[-1], *(_first_at(exposed, f) for f in (track.start, track.end))}
    cells = [HELD] * rig.shot.n_frames
    drawing, shown = 1, 0
    for frame in exposed:
        if travelled[frame] - travelled[shown] > STILL * rig.figure.height:
            drawing, shown = drawing + 1, frame
            cells[frame] = str(drawing)
        if frame in keys:
            cells[frame] = f"{drawing}{KEY_MARK}"
    return cells


def _first_at(exposed: list[int], frame: int) -> int:
    return next((f for f in exposed if f >= frame), exposed[-1])


def order_changes(rig: Rig, frame: int) -> str:
    """Pieces whose depth changes into this frame, with their new depth."""
    now = rig.depth[frame]
    if frame == 0:
        return "as drawn"
    changed = np.flatnonzero(now != rig.depth[frame - 1])
    near_first = sorted(changed.tolist(), key=lambda i: -int(now[i]))
    return ", ".join(f"{rig.drawing.pieces[i].id} to {int(now[i])}" for i in near_first)
