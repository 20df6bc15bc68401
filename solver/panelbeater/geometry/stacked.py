"""Stacks of pieces that keep who lies over whom."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence

from panelbeater.terms.arrays import Flags


def stacked(edges: Iterable[tuple[int, int]], rank: Sequence[int]) -> list[int]:
    """(n_pieces,) depths under which every edge, from a piece to one that lies over it,
    holds, otherwise in the order of `rank`.

    The pieces must not lie over each other in a ring.
    """
    under = {piece: set[int]() for piece in range(len(rank))}
    for low, high in edges:
        under[high].add(low)
    ready = [(rank[piece], piece) for piece, below in under.items() if not below]
    heapq.heapify(ready)
    depth = [-1] * len(rank)
    for level in range(len(rank)):
        _, lowest = heapq.heappop(ready)
        depth[lowest] = level
        for piece, below in under.items():
            if lowest in below:
                below.remove(lowest)
                if not below:
                    heapq.heappush(ready, (rank[piece], piece))
    return depth


def closed(over: Flags) -> Flags:
    """(n_pieces, n_pieces), row lies over column, also through others between them."""
    out = over.copy()
    for between in range(len(out)):
        out |= out[:, between : between + 1] & out[between]
    return out
