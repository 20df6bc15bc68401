"""Every threshold of the judge in one place, each with its unit and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limits:
    """Thresholds of promises and scores; "project" means agreed for this tool.

    All of them can be changed in a brief. What cannot be changed is not here: the flash
    meter (`flash/`), which keeps to WCAG 2.2 SC 2.3.1 and ITU-R BT.1702 for safety, and the
    constants of standards and of arithmetic that `tests/stress/test_limits.py` lists.

    H is the height of the figure, D the diagonal of vehicle and figure together, W the
    width of the shot's frame.
    """

    # Hard promises.
    vehicle_error: float = 1e-6
    """Share of a piece's area (project)."""
    leak: float = 1e-3
    """Share of the body's area (project)."""
    body_contact: float = 0.005
    """Share of H within which a piece counts as touching a bone (project)."""
    piece_contact: float = 0.0005
    """Share of H within which two pieces count as touching (project)."""
    clash: float = 1e-6
    """Share of D squared: overlap at one depth that still counts as touching (project)."""
    pop: float = 1e-4
    """Share of the smaller piece's area seen changing order (project)."""
    landing: float = 1e-6
    """Share of H an outline may differ within the closing hold (rounding of the file)."""
    landing_hold_frames: int = 2
    """Frames at the end that must be the same drawing: landed, not passing by (project)."""
    stated_scale: float = 1e-6
    """Slack on the scale the file states (rounding of the file)."""
    measured_scale: float = 0.02
    """Relative slack on sqrt(area / input area): a bent outline may gain or lose 2 %."""
    below_ground: float = 0.002
    """Share of H (project)."""
    ground_contact: float = 0.01
    """Share of H: a foot this near the ground line stands on it (project)."""
    foot_rest: float = 0.001
    """Share of H per frame below which a foot on the ground is at rest (project)."""
    foot_slide: float = 0.005
    """Share of H a planted foot may drift along the ground (project)."""
    scale_min: float = 0.7
    """Smallest end scale where no allowance is given (project, the drawing's default)."""
    scale_max: float = 1.4
    """Largest end scale where no allowance is given (project, the drawing's default)."""
    dip_min: float = 0.55
    """Smallest scale in motion where no allowance is given (project, as above)."""

    # Layout.
    spanning_margin: float = 0.02
    """Share of H the own region is grown by before spanning counts (project)."""
    unit_scale: float = 0.05
    """A kept piece's scale lies within this of 1 (project)."""
    shape_distance: float = 0.15
    """1 - IoU after undoing move, turn and scale (project)."""
    signature_area: float = 0.6
    """Share of a signature piece's area that must be seen (project)."""
    signature_boundary: float = 0.5
    """Share of its boundary that must be seen (project)."""
    signature_scale: float = 0.6
    """Smallest scale of a signature piece (project)."""
    coverage: float = 0.75
    """Wanted coverage of the figure (project)."""
    own_region: float = 0.65
    """Wanted own-region coverage (project)."""

    # Motion.
    moving: float = 0.001
    """Share of W: a centroid that moves more between drawings is moving (project)."""
    bundle_spread: float = 0.25
    """Velocities that differ by less of the largest speed are one group (project)."""
    bundles_p95: float = 4.0
    """Four can be followed: Pylyshyn & Storm 1988; as groups: Franconeri et al. 2004."""
    bundles_max: float = 6.0
    """Groups that may move at once in any frame (project)."""
    view_deg: float = 32.0
    """Degrees of view across W (project)."""
    load_base: float = 16.0
    """Objects followed at rest; law: Alvarez & Franconeri 2007; value project."""
    load_speed: float = 24.0
    """Degrees per second at which one is left: Holcombe & Chen 2013; value project."""
    load: float = 1.0
    """Largest tracking load (project)."""
    load_share: float = 0.95
    """Share of frames in which the load is kept (project)."""
    hiding_speed: float = 0.013
    """Share of W per frame, 10 degrees per second at 24 fps: Turi & Burr 2013."""
    hiding_neighbours: int = 2
    """Coherent neighbours that hide a change: Suchow & Alvarez 2011; count project."""
    hiding_near: float = 0.25
    """Share of W (8 degrees of view) within which a neighbour is near (project)."""
    hiding_change: float = 0.10
    """Largest hidden |ln scale ratio| per frame (project)."""
    secrecy: float = 0.05
    """Share of resizing that may be seen (project)."""
    step_good: float = 0.5
    """Step over extent; common practice with no source."""
    step_strobe: float = 1.0
    """Common practice with no source."""
    judder_low: float = 0.006
    """Share of W per drawing: the seven-second pan rule at 24 fps."""
    judder_high: float = 0.021
    """Share of W per drawing, from which a pan reads as a whip (project)."""
    arc_low: float = 1.02
    """Path over chord of a move that arcs at all (project)."""
    arc_high: float = 1.6
    """Path over chord beyond which a move wanders (project)."""
    kink_deg: float = 30.0
    """Degrees a path may turn between two drawings (project)."""
    hold_key_frames: int = 6
    """Reading time of a picture about 250 ms: Potter 2012."""
    hold_final_frames: int = 12
    """About 500 ms: Potter 2012."""
    upright_deg: float = 60.0
    """Largest turn from upright at which a landmark reads (project)."""
    round_from: float = 0.97
    """4 pi area / perimeter^2 from which a piece has no upright (project)."""

    shortest_move: int = 4
    """Steps between drawings: a shorter move has no spacing to speak of (project)."""
    at_rest: float = 1e-5
    """Share of W a step: a slow tail of a move still belongs to it (project)."""
    rhythm_changes: int = 4
    """Changes of the picture below which it says nothing about ones or twos (project)."""
    frame_margin: float = 1.2
    """W holds vehicle and figure so many times over where no frame is given (project)."""
    frame_ratio: float = 16 / 9
    """Width over height of the shot's frame where none is given (project)."""

    # Outlines that bend.
    crossed: float = 1e-6
    """Share of a piece's area a crossing must change to be more than rounding (project)."""
    off_ramp: float = 0.02
    """Share of its area a bent piece may gain or lose on the way (project)."""

    # Wishes for the layout.
    one_size: float = 0.1
    """Largest difference of two scales that still reads as one size (project)."""
    twins_unlike: float = 0.5
    """Share of what twin limbs wear from which they look unlike (project)."""
    one_paint: int = 32
    """Steps of a colour channel, of 255, within which two paints read as one (project)."""
    sits: float = 0.6
    """Share of a piece's drawn area over another from which it sits on it (project)."""
    order_shows: float = 0.02
    """Share of a piece's area over another for their order to show (project)."""

    # Reading under strain.
    told_apart: float = 10.0
    """CIE 1976 colour difference across a piece's edge from which it stands out (project;
    2.3 is just noticeable: Mahy, Van Eycken & Oosterlinck 1994)."""
    lean: float = 0.05
    """Lean to vehicle or person (0 to 1) below which an outline is undecided (project)."""
    advice_worth: float = 0.03
    """Share of a miss made good from which advice is given (project)."""
    advice_dear: float = 0.5
    """Advice is dropped when it costs more than this share of what it wins (project)."""
    advice_trade: float = 0.4
    """Share of a miss an idea must make good to be shown although it is dear (project)."""
    advice_against: float = 0.2
    """What a wish for the layout costs that is met no longer, as a share (project)."""


STANDARD = Limits()
"""The thresholds used unless a brief says otherwise."""
