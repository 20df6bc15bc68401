"""What covering well is worth, and what each liberty with a piece costs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from panelbeater.terms.assignment import Asked
from panelbeater.terms.drawing import Piece

# Habits of the trade, soft and editable: common practice with no source.
HABITS: dict[str, dict[str, float]] = {
    "wheel": {"shank": 0.12, "foot": 0.12, "upper_arm": 0.02},
    "window": {"torso": 0.03, "head": 0.02},
    "bonnet": {"torso": 0.03, "upper_arm": 0.012},
    "bumper": {"foot": 0.015, "forearm": 0.012},
    "lamp": {"torso": 0.012, "shank": 0.008, "head": 0.008},
    "panel": {},
    "other": {},
}
BONNETS = frozenset({"bonnet", "hood", "nose", "grille"})
"""A panel so named has the habit of a bonnet."""


def sort_of(piece: Piece) -> str:
    """The sort whose habit a piece follows: its kind, or a bonnet by name."""
    words = set(re.findall("[a-z]+", piece.id.lower()))
    return "bonnet" if piece.kind == "panel" and words & BONNETS else piece.kind


@dataclass(frozen=True, slots=True)
class AssignmentOptions:
    """Prices are shares of the figure's area unless said otherwise."""

    n_cells: int = 700
    """Cells of the lattice that all covering is sampled on."""
    kept_shapes: tuple[tuple[float, float], ...] = (
        (1.0, 1.0), (0.96, 1.0), (1.04, 1.0), (1.0, 0.88), (1.0, 1.14),
    )  # fmt: skip
    """Scale and stretch along the long side that still look as drawn."""
    free_shapes: tuple[tuple[float, float], ...] = (
        (0.75, 0.8), (0.75, 1.0), (0.75, 1.25), (0.87, 0.8), (0.87, 1.0), (0.87, 1.25),
        (1.15, 0.8), (1.15, 1.0), (1.15, 1.25), (1.32, 0.8), (1.32, 1.0), (1.32, 1.25),
        (1.0, 0.78), (1.0, 1.28),
    )  # fmt: skip
    """The same for pieces that give way to the figure."""
    per_region: int = 4
    """Placements of one piece on one region to begin with; half of them as drawn."""
    n_rounds: int = 5
    """Times the pool is priced against its duals and grown."""
    per_round: int = 6
    """Placements one piece may gain in a round."""
    growth_gap: float = 0.015
    """Growing ends when no placement of the raster could add more than this share."""
    steadiness: float = 0.4
    """How much of the best duals so far is kept when the next are set."""
    worth_adding: float = 0.0005
    """A placement that would add less than this to the relaxed value is left out."""
    window_margin: float = 0.05
    """Share of the height by which a centroid may lie beside its region's box."""
    spill_price: float = 0.8
    """Per area outside the figure."""
    span_price: float = 0.15
    """Per area on other regions: it hides them but cannot bend with them."""
    veil_price: float = 1.0
    """Per area of a signature piece that is hidden, when placements are refined."""
    travel_price: float = 0.02
    """Per figure height between the drawn place and the folded landing place."""
    gap_price: float = 0.06
    """Per figure height between the drawn piece and the folded bone that will carry it."""
    turn_price: float = 0.002
    """Per half turn on the way."""
    resize_price: float = 0.03
    """Per unit of |ln scale| times the piece's own share of the figure."""
    seen_price: float = 1.5
    """The same for what the way cannot hide."""
    stretch_price: float = 0.04
    """Per unit of ln stretch times the piece's own share of the figure."""
    habit_reach: float = 0.06
    """A wheel further than this from its joint (share of the height) loses most of the
    habit.
    """
    keep_bonus: float = 0.5
    """For the whole vehicle's visible area kept at unit scale and in shape, pro rata."""
    keep_scale: float = 0.05
    """A piece within this of its drawn size counts as kept."""
    keep_stretch: float = 1.16
    """A piece stretched no more than this counts as kept."""
    tilt_price: float = 0.05
    """Per own area of a piece that lies at 45 degrees to its limb; none when square."""
    legible_turn: float = 1.05
    """A signature piece turned further than this (60 degrees) is hard to read."""
    illegible_price: float = 0.01
    balance_price: float = 0.5
    """Per area that one side of a mirror pair of regions is covered less than the other."""
    mirror_bonus: float = 0.012
    """For a mirror pair on mirror regions."""
    stow_price: float = 0.04
    """For a piece that ends hidden, where that is allowed."""
    size_bonus: float = 0.012
    """For a mirror pair of one size on mirror regions."""
    twin_price: float = 0.15
    """Per drawn area of one sort that a limb wears more of than its twin. A value between
    two that were looked at: on one automobile, own cover went 0.910, 0.929, 0.887 at 0, 0.1
    and 0.3, on one ambulance 0.901, 0.901, 0.912; solving took up to three times as long.
    """
    region_minimum: float = 0.6
    """Own-region cover below this is charged twice, of a small region more often."""
    wanted_cover: Mapping[str, float] = field(default_factory=dict)
    """Region id to the least cover the animator asked for."""
    wanted_price: float = 10.0
    """Per area that is lacking of it: given up only when nothing else helps."""
    different_area: float = 0.3
    """Share of the drawing that must lie elsewhere in an alternate: less, and the eye
    takes two sheets for one.
    """
    gap_limit: float = 0.01
    """Proven within this of the best over the pool is good enough: refinement moves more.
    """
    small_pool: int = 60
    """A pool of so many placements is solved by HiGHS in one go."""
    n_nodes: int = 200
    """Branching nodes HiGHS may open there."""
    n_goes: int = 700
    """Times a few pieces are taken up and laid again on a larger pool, at budget 1."""
    n_more_rounds: int = 2
    """Times placements are found that the layout so far lacks, and a third of the goes is
    made again."""
    deterministic_time: float = 2.0
    """CP-SAT effort at budget 1, in the solver's deterministic seconds."""
    habits: Mapping[str, Mapping[str, float]] = field(default_factory=lambda: HABITS)
    """Sort to regions, without side, and what each is worth."""


def options_for(asked: Asked) -> AssignmentOptions:
    """The usual options with the animator's own figures on top."""
    return AssignmentOptions(wanted_cover=asked.cover, habits={**HABITS, **asked.habits})
