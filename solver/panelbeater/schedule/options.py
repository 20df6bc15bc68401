"""How long moves take and how many may happen at once."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ScheduleOptions:
    """Frames as they are, at any length of shot: a move that is slower is not hidden."""

    shortest_frames: float = 7.0
    """A move shorter than this pops: peak speed is 1.875 times the mean."""
    longest_frames: float = 14.0
    frames_per_height: float = 40.0
    """Frames for a travel of one figure height: fast enough to hide a change of size."""
    spread: float = 0.25
    """Pieces of a limb whose velocities differ by less of the largest go as one
    (Franconeri et al. 2004; the share is the project's)."""
    n_groups: int = 3
    """Groups that set out at once; with what rides the body that makes about four, which
    an eye can follow (Pylyshyn & Storm 1988)."""
    overlap_frames: int = 2
    """Slow frames at the end of a move in which the next may begin."""
    within_limb_frames: int = 2
    """Groups of one limb leave within this of each other."""
    lead_frames: int = 0
    """A piece leaves this much before its bone. It keeps pace with its limb, so none: with
    4 one more group moves at once on the demo."""
    early_cost: int = 3
    """For each frame that a piece lands before its bone is out."""
    crowd_cost: int = 20
    """For each group too many."""
    step_cost: int = 2
    """For each frame by which one of two mirror pieces follows the other sooner or later
    than its limb follows the other limb."""
    parting_worth: int = 40
    """For each pair that cannot change places because it never parts: a little more than
    one piece that leaves six frames off and lands as much too early."""
    deterministic_time: float = 0.4
    patience: float = 0.0625
    """Share of the time after which a search that found nothing new in the later half of
    it is ended: on fifteen drawings the best came in the first hundredth and was not
    proven in a hundred times as long."""
