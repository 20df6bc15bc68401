"""Lays the pieces again from an earlier layout, after a wish has changed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from panelbeater.assignment.assign import Pool, lay, offer_placements
from panelbeater.assignment.candidates import laid_again
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.effort import QUIET, Effort
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing, Piece
from panelbeater.terms.figure import BONE_IDS, Figure
from panelbeater.terms.pose import Fold

MOST_FREE = 8
"""Pieces that may move besides those a wish moves: more gain little and take longer."""


def free_pieces(drawing: Drawing, before: Assignment) -> frozenset[int]:
    """The pieces a changed wish moves, and those near enough to be moved by them: what
    lies where they lay, or where they are pinned to, largest first.
    """
    where = {cover.piece: cover for cover in before.covers}
    forced = [
        i for i, piece in enumerate(drawing.pieces)
        if piece.id not in where or not _suits(piece, where[piece.id].region)
        or (where[piece.id].stowed and not piece.wishes.stow)
    ]  # fmt: skip
    touched = {where[drawing.pieces[i].id].region for i in forced
               if drawing.pieces[i].id in where}  # fmt: skip
    touched |= {p.wishes.pin for p in (drawing.pieces[i] for i in forced) if p.wishes.pin}
    near = [
        i for i, piece in enumerate(drawing.pieces)
        if i not in forced and where[piece.id].region in touched and not piece.wishes.pin
    ]  # fmt: skip
    near.sort(key=lambda i: (-drawing.pieces[i].outline.area, i))
    return frozenset([*forced, *near[:MOST_FREE]])


def _suits(piece: Piece, region: str) -> bool:
    wishes = piece.wishes
    return region not in wishes.bans and wishes.pin in (None, region)


def offer_again(
    drawing: Drawing,
    figure: Figure,
    before: Assignment,
    free: Collection[int],
    *,
    ground: float,
    options: AssignmentOptions,
    effort: Effort = QUIET,
) -> Pool:
    """Placements for the free pieces; every other keeps the one it had.

    Raises NoAssignmentError naming the pieces that fit nowhere.
    """
    order = sorted(free)
    some = replace(drawing, pieces=tuple(drawing.pieces[i] for i in order))
    pool = offer_placements(some, figure, ground=ground, options=options, effort=effort)
    found = [replace(place, piece=order[place.piece]) for place in pool.placements]
    return kept_pool(drawing, before, free, replace(pool, placements=tuple(found)))


def kept_pool(
    drawing: Drawing, before: Assignment, free: Collection[int], pool: Pool
) -> Pool:
    """The pool with all but the free pieces where they were, and these where they may be
    and, as long as no wish speaks against it, where they were.
    """
    old = [
        place
        for place in laid_again(drawing, before)
        if place.piece not in free
        or _suits(drawing.pieces[place.piece], before.covers[place.piece].region)
    ]
    found = [
        place
        for place in pool.placements
        if place.piece in free
        and _suits(drawing.pieces[place.piece], BONE_IDS[place.region])
    ]
    return replace(pool, placements=(*old, *found), start=())


def assign_again(
    drawing: Drawing,
    figure: Figure,
    fold: Fold,
    pool: Pool,
    before: Assignment,
    *,
    seed: int,
    budget: float = 1.0,
    effort: Effort = QUIET,
) -> Assignment:
    """The layout that suits the wishes of `drawing` now, as little changed as they allow.

    pool : placements found earlier for these drawings, of all pieces or of the free ones.
    Raises NoAssignmentError naming the smallest set of wishes that clash.
    """
    free = free_pieces(drawing, before)
    pool = kept_pool(drawing, before, free, pool)
    # Few pieces have few layouts: goes by their number squared are enough, and none more.
    n_goes = round(pool.options.n_goes * (len(free) / len(drawing.pieces)) ** 2)
    few = replace(pool.options, n_goes=n_goes, n_more_rounds=0)
    pool = replace(pool, options=few)
    done = lay(
        drawing, figure, fold, pool, seed=seed, budget=budget, effort=effort, movable=free
    )
    covers = tuple(
        new if i in free else old
        for i, (new, old) in enumerate(zip(done.covers, before.covers, strict=True))
    )
    return replace(done, covers=covers, proof=f"{len(free)} pieces moved; {done.proof}")
