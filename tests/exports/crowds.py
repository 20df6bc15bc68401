"""Rigs with very many pieces, to see whether the page keeps up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely import Polygon

from panelbeater.exports.compose import path_data
from panelbeater.rig import sample_rig
from panelbeater.terms.assignment import Cover
from panelbeater.terms.rig import Rig, Sample
from tests.exports.small_rig import small_covers, small_rig


def crowd(n_pieces: int, n_vertices: int) -> tuple[Rig, Sample, tuple[Cover, ...]]:
    """The trolley's tracks shared out over stars of so many corners; 72 frames."""
    rig, _ = small_rig(72)
    turn = np.linspace(0, 2 * np.pi, n_vertices, endpoint=False)
    far = np.where(np.arange(n_vertices) % 2, 4.0, 6.0)[:, None]
    star = far * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    covers, pieces, tracks = small_covers(), [], []
    for i in range(n_pieces):
        outline = Polygon(star + [40 + 12 * (i % 10), 60 + 3 * (i // 10)])
        piece, track = rig.drawing.pieces[i % 8], rig.tracks[i % 8]
        art = f'<path d="{path_data(outline, 2)}" fill="{piece.colour}" stroke="#222222"/>'
        name = f"piece_{i}"
        pieces.append(replace(piece, id=name, outline=outline, artwork=art, depth=i))
        # As many keys as a routed ride has.
        u = np.linspace(0, 1, 33)
        keys = (
            track.key_channels[:1] * (1 - u[:, None]) + track.key_channels[1:] * u[:, None]
        )
        tracks.append(replace(track, piece=name, key_u=u, key_channels=keys))
    drawing = replace(rig.drawing, pieces=tuple(pieces))
    depth = np.tile(np.arange(n_pieces), (72, 1))
    many = replace(rig, drawing=drawing, tracks=tuple(tracks), depth=depth)
    worn = tuple(replace(covers[i % 8], piece=f"piece_{i}") for i in range(n_pieces))
    return many, sample_rig(many, np.arange(72, dtype=np.float64)), worn
