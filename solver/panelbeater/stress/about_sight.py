"""Ideas about what the vehicle is known by: in front, upright, and not covered up."""

from __future__ import annotations

from panelbeater.stress import recast
from panelbeater.stress.about_pieces import elsewhere
from panelbeater.stress.case import Case
from panelbeater.stress.idea import Idea, Missed
from panelbeater.stress.plain import say
from panelbeater.stress.trials import Trial
from panelbeater.terms.drawing import Piece

LANDMARKS = ("signature pieces kept", "landmark legibility")
LOST = 0.4
"""Share of a landmark that must be covered up before it is worth freeing: it counts as
kept from three fifths on."""
SOME = 0.1
"""Share of a landmark that must be covered up before it is worth drawing in front."""


def hidden_landmarks(case: Case, missed: Missed) -> list[Idea]:
    """What lies over a lost landmark goes elsewhere, or the landmark itself does."""
    if not set(LANDMARKS) & set(missed):
        return []
    out: list[Idea] = []
    for piece, by, share in _covered(case):
        if share > LOST:
            why = f"it covers {share:.0%} of {say(piece.id)}, which the vehicle is known by"
            out += elsewhere(case, by, why, LANDMARKS, n_best=1)
            why = f"{say(by.id)} covers {share:.0%} of it"
            out += elsewhere(case, piece, why, LANDMARKS, n_best=1)
    return out


def kept_in_front(case: Case, missed: Missed) -> list[Idea]:
    """Landmarks that nothing covers in the vehicle, over all else from first to last."""
    if not set(LANDMARKS) & set(missed):
        return []
    return [
        Idea(
            f"keep {say(piece.id)} in front",
            f"the vehicle is known by it, and {say(by.id)} covers {share:.0%} of it",
            Trial("front", (piece.id,)),
            LANDMARKS,
        )
        for piece, by, share in _covered(case)
        if share > SOME and recast.covered_in_vehicle(case.plan, piece.id) < 0.01
    ]


def _covered(case: Case) -> list[tuple[Piece, Piece, float]]:
    """Landmark, the piece that covers most of it at the end, and how much; worst first."""
    drawn = {piece.id: piece for piece in case.plan.rig.drawing.pieces}
    last = [piece for piece in case.shot.frames[-1].pieces if piece.visible]
    found = []
    for mine in last:
        if not drawn[mine.id].signature:
            continue
        shares = [
            (mine.outline.intersection(other.outline).area / mine.outline.area, other.id)
            for other in last
            if other.depth > mine.depth
        ]
        if shares:
            share, name = max(shares)
            found.append((drawn[mine.id], drawn[name], share))
    return sorted(found, key=lambda item: (-item[2], item[0].id))
