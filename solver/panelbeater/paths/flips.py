"""One change of place in the stack for each piece, as a CP-SAT model."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.terms.arrays import Flags, Ints


class Flips:
    """Every mover jumps once, to a place of its own; the others keep theirs.

    Places are whole numbers; drawn ones lie `step` apart, so that any number of movers
    finds room between two that stay. `never` is the frame of a piece that does not jump.
    """

    def __init__(self, n_pieces: int, movers: Sequence[int], free: Flags) -> None:
        self.model = cp_model.CpModel()
        self._n, self._movers, self._free = n_pieces, list(movers), free
        self._step, self._never = len(movers) + 2, len(free)
        drawn = [self._step * i for i in range(n_pieces)]
        spots = set(range(-self._step, self._step * n_pieces + 1))
        self._frame: dict[int, cp_model.IntVar] = {}
        self._place: dict[int, cp_model.IntVar] = {}
        self._jumps: dict[int, cp_model.IntVar] = {}
        for i in self._movers:
            frames = np.flatnonzero(free[:, i].any(axis=1)).tolist()
            self._frame[i] = self.model.new_int_var_from_domain(
                cp_model.Domain.from_values([*frames, self._never]), f"frame_{i}"
            )
            open_spots = sorted(spots - (set(drawn) - {drawn[i]}))
            self._place[i] = self.model.new_int_var_from_domain(
                cp_model.Domain.from_values(open_spots), f"place_{i}"
            )
            jumps = self.model.new_bool_var(f"jumps_{i}")
            self.model.add(self._frame[i] == self._never).only_enforce_if(~jumps)
            self.model.add(self._place[i] == drawn[i]).only_enforce_if(~jumps)
            self.model.add(self._frame[i] < self._never).only_enforce_if(jumps)
            self._jumps[i] = jumps
            self.model.add_hint(jumps, 0)
        self.model.add_all_different(list(self._place.values()))
        self._over = {
            (i, j): self._above(self._place[i], drawn[j], f"over_drawn_{i}_{j}")
            for i in self._movers
            for j in range(n_pieces)
            if i != j
        }
        self._end: dict[tuple[int, int], cp_model.IntVar] = {}
        stay = set(range(n_pieces)) - set(self._movers)
        for i in self._movers:
            for j in sorted(stay):
                self._flip_only_where_free(i, j, [self._over[i, j]], start=i > j)
        for i, j in combinations(self._movers, 2):
            self._both(i, j)

    def wish(self, weights: Mapping[tuple[int, int], int]) -> None:
        """Ask for (nearer, farther) pairs in the last frame, and for few jumps."""
        terms: list[cp_model.LinearExprT] = [-jump for jump in self._jumps.values()]
        for (near, far), weight in sorted(weights.items()):
            if near in self._frame and far in self._frame:
                one, other = min(near, far), max(near, far)
                above = self._end[one, other]
                terms.append(weight * (above if near == one else ~above))
            elif near in self._frame:
                terms.append(weight * self._over[near, far])
            elif far in self._frame:
                terms.append(weight * ~self._over[far, near])
        self.model.maximize(sum(terms))

    def depth(self, solver: cp_model.CpSolver, n_frames: int) -> Ints:
        """(n_frames, n_pieces), ranks frame by frame."""
        places = np.tile(self._step * np.arange(self._n), (n_frames, 1))
        for i in self._movers:
            places[solver.value(self._frame[i]) :, i] = solver.value(self._place[i])
        return np.argsort(np.argsort(places, axis=1), axis=1).astype(np.int64)

    def _above(
        self, place: cp_model.IntVar, other: cp_model.LinearExprT, name: str
    ) -> cp_model.IntVar:
        above = self.model.new_bool_var(name)
        self.model.add(place > other).only_enforce_if(above)
        self.model.add(place < other).only_enforce_if(~above)
        return above

    def _flip_only_where_free(
        self,
        i: int,
        j: int,
        after: Sequence[cp_model.LiteralT],
        *,
        start: bool,
        given: Sequence[cp_model.LiteralT] = (),
    ) -> None:
        """When i jumps its order with j turns from `start` only in a free frame."""
        frames = np.flatnonzero(self._free[:, i, j]).tolist()
        domain = cp_model.Domain.from_values([*frames, self._never])
        turned = [~above if start else above for above in after]
        self.model.add_linear_expression_in_domain(self._frame[i], domain).only_enforce_if(
            [*given, *turned]
        )

    def _both(self, i: int, j: int) -> None:
        """Two movers: the order after the first jump, and after the second."""
        end = self._above(self._place[i], self._place[j], f"end_{i}_{j}")
        self._end[i, j] = end
        first = self.model.new_bool_var(f"first_{i}_{j}")
        second = self.model.new_bool_var(f"second_{i}_{j}")
        self.model.add(self._frame[i] < self._frame[j]).only_enforce_if(first)
        self.model.add(self._frame[i] > self._frame[j]).only_enforce_if(second)
        self.model.add(self._frame[i] == self._frame[j]).only_enforce_if([~first, ~second])
        self.model.add_bool_or([~first, ~second])
        over, under = self._over[i, j], self._over[j, i]
        drawn = i > j
        # i jumps first: against j as drawn; then j jumps to the final order.
        self._flip_only_where_free(i, j, [over], start=drawn, given=[first])
        self._flip_only_where_free(j, i, [end], start=True, given=[first, over])
        self._flip_only_where_free(j, i, [end], start=False, given=[first, ~over])
        # j jumps first; `under` says that j then lies over i.
        self._flip_only_where_free(j, i, [under], start=not drawn, given=[second])
        self._flip_only_where_free(i, j, [end], start=False, given=[second, under])
        self._flip_only_where_free(i, j, [end], start=True, given=[second, ~under])
        together = [~first, ~second]
        self._flip_only_where_free(i, j, [end], start=drawn, given=together)
