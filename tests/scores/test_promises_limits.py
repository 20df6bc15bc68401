"""Promises exactly at their limits: H is 100, so that 0.002 H is 0.2 and 0.005 H is 0.5."""

from __future__ import annotations

import pytest
from shapely import Polygon, box
from shapely.affinity import scale

from panelbeater.scores import Promise, score_shot
from panelbeater.scores.result import Break
from tests.scores.shots import Look, still_scene
from tests.scores.test_edges_by_hand import promise


def details(found: Promise) -> list[str]:
    return [place.detail for place in found.broken]


@pytest.mark.parametrize(
    ("frame", "drawn", "stated", "fault"),
    [
        (3, 0.56, 0.56, ""),
        (3, 0.54, 0.54, "smaller than allowed"),
        (3, 0.545, 0.55, ""),  # 0.9 % less than the least: a bent outline may
        (3, 0.53, 0.55, "smaller than allowed"),
        (3, 2.0, 2.0, ""),  # on the way a piece may be large
        (3, 1.0, 1.03, "not drawn at the scale it states"),
        (3, 1.0, 0.985, ""),
        (7, 0.71, 0.71, ""),
        (7, 0.68, 0.68, "smaller than allowed"),
        (7, 1.39, 1.39, ""),
        (7, 1.45, 1.45, "larger than allowed"),
        (7, 1.41, 1.4, ""),
        # A stated size holds to a millionth: 0.7 at the end, 0.55 on the way, 1.4 at most.
        (7, 0.7, 0.7, ""),
        (7, 0.7, 0.7 - 6e-7, ""),
        (7, 0.7, 0.7 - 8e-7, "smaller than allowed"),
        (3, 0.55, 0.55, ""),
        (3, 0.55, 0.55 - 5e-7, ""),
        (3, 0.55, 0.55 - 7e-7, "smaller than allowed"),
        (7, 1.4, 1.4 + 1.3e-6, ""),
        (7, 1.4, 1.4 + 1.5e-6, "larger than allowed"),
        # The drawn one to a fiftieth of the limit: 0.014, 0.011 and 0.028.
        (7, 0.687, 0.7, ""),
        (7, 0.685, 0.7, "smaller than allowed"),
        (3, 0.540, 0.55, ""),
        (3, 0.538, 0.55, "smaller than allowed"),
        (7, 1.427, 1.4, ""),
        (7, 1.429, 1.4, "larger than allowed"),
        # And stated and drawn to a fiftieth of what is stated.
        (3, 0.611, 0.6, ""),
        (3, 0.613, 0.6, "not drawn at the scale it states"),
        (3, 1.529, 1.5, ""),
        (3, 1.531, 1.5, "not drawn at the scale it states"),
        (6, 2.0, 2.0, ""),  # the last but one is on the way
        (6, 0.56, 0.56, ""),
    ],
)
def test_sizes_are_held_to_their_limits(
    frame: int, drawn: float, stated: float, fault: str
) -> None:
    scene = still_scene()
    outline = scale(scene.looks["hood"][frame].outline, drawn, drawn)
    scene.change("hood", frame, outline=outline, scale=stated)
    found = promise(scene, "budget")
    assert [place.detail for place in found.broken] == ([fault] if fault else [])
    assert found.value == bool(fault)
    scene.change("hood", frame, visible=False)
    assert promise(scene, "budget").kept


def test_the_dip_of_a_piece_counts_at_the_end_as_well() -> None:
    scene = still_scene()
    for least, is_kept in ((1.0, True), (1.01, False)):
        budget = promise(scene, "budget", allowances={"hood": (0.5, 1.4, least)})
        assert budget.kept is is_kept
        assert budget.value == (0 if is_kept else 8)


@pytest.mark.parametrize(("frame", "n_lost"), [(0, 1), (1, 0), (7, 0)])
def test_a_piece_may_hide_but_not_in_the_vehicle(frame: int, n_lost: int) -> None:
    scene = still_scene()
    scene.change("hood", frame, visible=False)
    found = promise(scene, "missing pieces")
    assert found.value == n_lost
    assert [place.frames for place in found.broken] == [(0.0,)] * n_lost


def test_the_worst_piece_tells_the_vehicle_error_and_one_that_is_away_has_none() -> None:
    scene = still_scene()
    scene.inputs = {"hood": box(0, 0, 40, 40), "door": box(0, 40, 40, 70)}
    scene.change("hood", 0, outline=box(0, 0, 40, 39))
    scene.change("door", 0, outline=box(0, 40, 40, 69))
    found = promise(scene, "vehicle error")
    assert found.value == pytest.approx(1 / 30)
    assert [place.pieces for place in found.broken] == [("hood",), ("door",)]
    scene.absent = {("door", 0)}
    assert promise(scene, "vehicle error").value == pytest.approx(1 / 40)
    # A millionth of 1600 may differ: 0.0016, over an edge 40 long.
    for off, is_kept in ((3.9e-5, True), (4.1e-5, False)):
        scene.change("hood", 0, outline=box(0, 0, 40, 40 - off))
        assert promise(scene, "vehicle error").kept is is_kept


@pytest.mark.parametrize(("wide", "is_kept"), [(0.019, True), (0.021, False)])
def test_a_thousandth_of_the_body_may_leak(wide: float, *, is_kept: bool) -> None:
    # The torso is 20 wide and 59 high, with the foot 20 x 98 = 1960; 1.96 may leak, the
    # share 2 / 98 of its width over 98 rows.
    scene = still_scene()
    scene.vehicle = box(10 + wide, 0, 40, 100)
    found = promise(scene, "leak")
    assert found.value == pytest.approx(98 * wide / 1960)
    assert found.kept is is_kept


def test_a_body_without_a_shape_leaks_nothing() -> None:
    scene = still_scene()
    for bones in scene.bones.values():
        bones[0] = Polygon()
    assert (promise(scene, "leak").value, promise(scene, "leak").kept) == (0, True)
    # And what floats then floats from nothing, so that nobody can say how far.
    (place,) = promise(scene, "float").broken
    assert place.pieces == ("hood", "door", "wheel")
    assert place.worst is None


def _covering(*, hidden: int | None, depths: tuple[int, int]) -> Promise:
    """The hood over the door's upper third; its depth before frame 4 and from then on."""
    scene = still_scene()
    for frame in range(8):
        deep = box(0, 0, 40, 50)
        scene.change("hood", frame, outline=deep, depth=depths[frame >= 4])
    if hidden is not None:
        scene.change("hood", hidden, visible=False)
    return promise(scene, "pop")


def test_a_piece_pops_that_jumps_to_the_front_in_sight() -> None:
    found = _covering(hidden=None, depths=(0, 5))
    assert details(found) == ["hood jumps to the front over 0.33 of the smaller piece"]
    found = _covering(hidden=None, depths=(5, 0))
    assert details(found) == ["door jumps to the front over 0.33 of the smaller piece"]


@pytest.mark.parametrize("hidden", [3, 4])
def test_a_piece_that_is_hidden_before_or_after_does_not_pop(hidden: int) -> None:
    assert _covering(hidden=hidden, depths=(0, 5)).value == 0


@pytest.mark.parametrize("depths", [(1, 5), (5, 1), (1, 0), (5, 6)])
def test_an_order_that_begins_or_does_not_change_is_no_pop(depths: tuple[int, int]) -> None:
    # The door has depth 1: two at one depth have no order that could change.
    assert _covering(hidden=None, depths=depths).value == 0


def test_pieces_that_overlap_only_before_or_only_after_do_not_pop() -> None:
    for apart in (3, 4):
        scene = still_scene()
        scene.looks["lamp"] = [Look(box(0, 41, 10, 51), depth=3)] * 8
        scene.change("lamp", apart, outline=box(0, 1, 10, 11))
        for frame in range(4, 8):
            scene.change("lamp", frame, depth=-1)
        pairs = {place.pieces for place in promise(scene, "pop").broken}
        assert ("door", "lamp") not in pairs
    # Together in just those two frames is enough.
    scene = still_scene()
    scene.looks["lamp"] = [Look(box(41, 41, 51, 51), depth=3)] * 8
    for frame in range(4, 8):
        scene.change("lamp", frame, depth=-1)
    for frame in (3, 4):
        scene.change("lamp", frame, outline=box(0, 41, 10, 51))
    assert [place.pieces for place in promise(scene, "pop").broken] == [("door", "lamp")]


@pytest.mark.parametrize(
    ("x", "y", "is_kept"),
    # A millionth of H is 0.0001, however the piece moves; and nothing before the last two.
    [(9e-5, 0, True), (0, -9e-5, True), (1.1e-4, 0, False), (0, -1.1e-4, False)],
)
def test_a_piece_has_landed_when_it_no_longer_moves_by_a_millionth(
    x: float, y: float, *, is_kept: bool
) -> None:
    scene = still_scene()
    scene.shift("hood", 6, x, y)
    found = promise(scene, "landing")
    assert details(found) == ([] if is_kept else ["still moves when the shot ends"])
    scene = still_scene()
    scene.shift("hood", 5, 9, 9)
    assert promise(scene, "landing").kept


def _landing(**what: object) -> list[str]:
    scene = still_scene()
    scene.change("hood", 7, **what)
    return details(promise(scene, "landing"))


def test_what_is_wrong_with_a_landing_is_told() -> None:
    gone = {"outline": Polygon(), "visible": False}
    assert _landing(**gone) == ["is not there when the shot ends"]
    assert _landing(region=None) == ["has no region of the figure when the shot ends"]
    assert _landing(region="tail") == ["has no region of the figure when the shot ends"]
    assert _landing(bone="foot_l") == [
        "rides foot_l but is meant for torso when the shot ends"
    ]
    assert _landing(outline=box(60, 0, 90, 30)) == [
        "does not touch torso when the shot ends"
    ]
    # Hidden a frame before: nobody can say that it no longer moves.
    scene = still_scene()
    scene.change("hood", 6, **gone)
    assert details(promise(scene, "landing")) == ["still moves when the shot ends"]
    # With other corners the outline is compared as a whole: here it is the same.
    scene = still_scene()
    scene.change("hood", 6, outline=Polygon([(0, 0), (20, 0), (40, 0), (40, 40), (0, 40)]))
    assert promise(scene, "landing").kept
    scene.absent = {("hood", 7)}
    assert details(promise(scene, "landing")) == ["is not there when the shot ends"]


def test_the_worst_place_of_a_clash_is_the_middle_of_what_is_shared() -> None:
    scene = still_scene()
    scene.shift("door", 4, 0, -10)
    scene.change("door", 4, depth=0)
    (place,) = promise(scene, "clash").broken
    assert place.worst is not None
    # Shared is 0 to 40 by 30 to 40: the widest disc is 10 wide, half way down.
    assert place.worst.depth == pytest.approx(10, rel=1e-3)
    assert place.worst.y == pytest.approx(35, abs=0.1)
    assert 5 - 0.1 <= place.worst.x <= 35 + 0.1


def test_forty_broken_places_are_looked_into() -> None:
    scene = still_scene()
    for at in range(10):  # 45 pairs at one depth
        scene.looks[f"lamp{at}"] = [Look(box(1, 1, 9, 9), depth=7)] * 8
    broken = promise(scene, "clash").broken
    assert len(broken) == 45
    looked_into = [place.worst is not None for place in broken]
    assert looked_into == [True] * 40 + [False] * 5


def test_a_break_is_told_by_what_is_known_of_it() -> None:
    assert Break((2.0,), (), "fails").words == "frame 3: fails"
    assert Break((), ("hood",), "fails").words == "hood: fails"


@pytest.mark.parametrize(
    ("gap", "n_loose"),
    [(0.5, 0), (0.5001, 1)],
)
def test_a_piece_hangs_on_a_bone_up_to_half_a_percent(gap: float, n_loose: int) -> None:
    scene = still_scene()
    scene.change("hood", 3, outline=box(30 + gap, 0, 70, 30))
    assert promise(scene, "float").value == n_loose


def test_a_chain_of_pieces_hangs_on_the_body_by_its_first() -> None:
    scene = still_scene()
    # Beside the door, each touching the one before; only the first touches anything else.
    for at in range(4):
        link = box(40 + 10 * at, 50, 50 + 10 * at, 55)
        scene.looks[f"link{at}"] = [Look(link, depth=5 + at)] * 8
    assert promise(scene, "float").value == 0
    scene.change("link1", 3, visible=False)
    found = promise(scene, "float")
    assert [(place.frames, place.pieces) for place in found.broken] == [
        ((3.0,), ("link2", "link3"))
    ]  # fmt: skip


def test_a_clash_is_counted_by_pair_and_frame() -> None:
    scene = still_scene()
    for frame in (4, 6):
        scene.change("hood", frame, outline=box(0, 0, 40, 80), depth=2)
    scene.change("door", 6, depth=2)
    found = promise(scene, "clash")
    # Hood and wheel in both frames, hood and door in the last: door and wheel only touch.
    assert found.value == 3
    assert [(place.pieces, place.frames) for place in found.broken] == [
        (("hood", "door"), (6.0,)), (("hood", "wheel"), (4.0, 6.0)),
    ]  # fmt: skip
    assert not score_shot(scene.shot()).kept
