"""Which piece covers which region, and how sure we are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from panelbeater.terms.arrays import Affines
from panelbeater.terms.bend import Bend


@dataclass(frozen=True, slots=True, eq=False)
class Cover:
    """One piece laid on one region in the standing pose."""

    piece: str
    region: str
    stage_from_piece: Affines
    """(3, 3), end placement; the piece frame has the drawn centroid at 0, 0."""
    scale: float
    """Uniform part of the placement, sqrt|det|."""
    stretch: float
    """Ratio of long to short axis of the placement, >= 1."""
    gain: float
    """Own-region area this piece covers alone, as a share of the figure."""
    reason: str
    bend: Bend | None = None
    """Acts in the piece frame before `stage_from_piece`."""
    stowed: bool = False
    """True when it ends hidden: it shrinks to its smallest size on the way, and from a
    frame on it is not shown. It covers nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """What was asked of a layout as a whole, and of its pieces on their way."""

    cover: Mapping[str, float] = field(default_factory=dict)
    """Region id to the least share of it that pieces of its own must cover."""
    habits: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    """Kind to the regions it belongs on, without side, and what each is worth as a share
    of the figure."""
    clear: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Piece id to the pieces, regions or limbs it goes round: on the way it may not pass
    over or under them."""


@dataclass(frozen=True, slots=True, eq=False)
class Assignment:
    """One cover for every piece."""

    covers: tuple[Cover, ...]
    """In the order of `Drawing.pieces`."""
    value: float
    """Share of sampled figure area covered by pieces on their own region, less prices."""
    bound: float
    """Proven upper bound on `value` over this pool of candidates."""
    proof: str
    """What was proven, for example "optimal over this pool"."""
    n_candidates: int
    raster_bound: float | None = None
    """No layout of raster placements, in the pool or not, is worth more; None where the
    raster was not searched. The raster holds every turn, size and stretch that is tried
    and every spot one sample cell apart."""
    n_raster: int = 0
    """How many placements that are."""
    depths: tuple[int, ...] = ()
    """(n_pieces,) wanted stacking in the last frame, unique, larger is nearer the viewer;
    as drawn unless given. Where no order of flips on the way stays unseen, what is drawn in
    front stays in front."""
    asked: Asked = field(default_factory=Asked)

    def __post_init__(self) -> None:
        # `Drawing.pieces` run from far to near, and so do the covers.
        depths = self.depths or tuple(range(len(self.covers)))
        assert sorted(set(depths)) == sorted(depths), "two pieces at one depth"
        assert len(depths) == len(self.covers), "a depth for every cover"
        object.__setattr__(self, "depths", depths)

    def keeping_clear(self, asked: Asked) -> Assignment:
        """The same layout, its pieces asked to go round each other as in `asked`."""
        return replace(self, asked=replace(self.asked, clear=asked.clear))

    @property
    def raster_gap(self) -> float | None:
        """(raster_bound - value) / raster_bound, at least 0; None where it is unknown."""
        if self.raster_bound is None:
            return None
        most = max(abs(self.raster_bound), 1e-9)
        return max(0.0, (self.raster_bound - self.value) / most)

    @property
    def gap(self) -> float:
        """(bound - value) / bound, at least 0."""
        return max(0.0, (self.bound - self.value) / max(abs(self.bound), 1e-9))
