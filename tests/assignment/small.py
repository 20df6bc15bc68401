"""A small layout problem in a few seconds: five plates, two discs, a figure of capsules.

Run as a module it prints the layout, to be compared between processes.
"""

from __future__ import annotations

from dataclasses import replace

from shapely import Point, box

from panelbeater.assignment import AssignmentOptions, assign_pieces, offer_placements
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing, Wishes
from panelbeater.terms.figure import Figure
from tests.assignment.cutouts import standing_fold
from tests.figures import capsule_figure
from tests.vehicles import drawing, piece

COARSE = AssignmentOptions(n_cells=240, n_rounds=2, per_region=2, n_goes=6)
GROUND = 0.0


def small_vehicle(**wishes: Wishes) -> Drawing:
    """Five plates over two wheels, 60 wide; wishes by piece name."""
    parts = [
        piece("bed", box(0, -30, 30, -12), 0),
        piece("cab", box(30, -42, 52, -12), 1),
        piece("door", box(33, -30, 43, -14), 2),
        piece("pane", box(34, -40, 48, -31), 3, "window"),
        piece("bar", box(52, -22, 60, -16), 4, "bumper"),
        piece("rear", Point(10, -8).buffer(8, quad_segs=6), 5, "wheel", signature=True,
              mirror="front"),
        piece("front", Point(44, -8).buffer(8, quad_segs=6), 6, "wheel", signature=True,
              mirror="rear"),
    ]  # fmt: skip
    return drawing(*(replace(p, wishes=wishes.get(p.id, p.wishes)) for p in parts))


def small_figure() -> Figure:
    """A capsule figure with about the area of the vehicle."""
    return capsule_figure(80, x=30, ground=GROUND)


def small_layout(vehicle: Drawing, *, seed: int = 1) -> Assignment:
    """The whole room, quickly."""
    figure = small_figure()
    pool = offer_placements(vehicle, figure, ground=GROUND, options=COARSE)
    return assign_pieces(
        vehicle, figure, standing_fold(figure), pool, seed=seed, budget=0.03
    )


def spelled(layout: Assignment) -> str:
    """Every number of a layout, digit for digit."""
    rows = [f"{c.piece} {c.region} {c.stage_from_piece.tolist()} {c.scale!r} {c.stretch!r} "
            f"{c.gain!r} {c.reason}" for c in layout.covers]  # fmt: skip
    return "\n".join([*rows, f"{layout.value!r} {layout.bound!r} {layout.proof}"])


if __name__ == "__main__":
    print(spelled(small_layout(small_vehicle())))  # noqa: T201 - compared by the test
