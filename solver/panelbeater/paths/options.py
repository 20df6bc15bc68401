"""How pieces travel: how close they keep to the body and how much they may shrink."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PathOptions:
    """Lengths are shares of the figure's height."""

    touch: float = 0.0004
    """Pieces nearer than this touch."""
    touch_body: float = 0.004
    """A piece nearer than this to a bare bone is carried by it."""
    overlap: float = 0.02
    """A piece drawn back to the body goes this much further than it must."""
    quick: float = 0.03
    """Where some piece goes farther from one frame to the next, every eighth of the way is
    looked at, else the half."""
    sunk: float = 1e-4
    """A piece is lifted that reaches deeper into the ground than this: a twentieth of what
    is promised, and more than a detour is off by."""
    sunk_between: float = 0.001
    """A piece that turns may dip this deep into the ground between two frames: half of
    what is promised."""
    clear_area: float = 5e-7
    """Of the height squared: two that keep clear may share no more, half of what the judge
    lets pass at one depth."""
    clear_margin: float = 0.005
    """And pass each other at this distance."""
    detour_frames: float = 5.0
    """A detour swells and ebbs within about this many frames either side."""
    round_frames: tuple[int, ...] = (12, 24)
    """A piece leaves its ride at most so long before it would pass over what it goes round,
    half a second at 24 frames; where that does not do, the next."""
    calm_frames: float = 12.0
    """Swings of a ride that take less are taken out of it. Jolts and kinks fall further
    with 18, but pieces get too slow to hide changes of size."""
    n_rounds: int = 14
    n_smooth: int = 8
    """Rounds after which a float is mended where it is, kink or not."""
    n_turns: int = 2
    """Times that paths and changes of size are fitted to each other."""
