from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from shapely import Polygon, box

from panelbeater.stress.recognition import (
    VEHICLES,
    Mask,
    hits_left_out,
    mask_of,
    measured_hits,
    open_silhouettes,
    read_silhouette,
    turning_frame,
)
from panelbeater.stress.recognition.contexts import (
    context_distances,
    edge_points,
    flopped_contexts,
    shape_contexts,
)
from panelbeater.stress.recognition.moments import flopped, orders, zernike_moments
from panelbeater.stress.recognition.silhouettes import CELL_PX, FOLDER, fitted

# mahotas 1.4.19, zernike_moments(l_shape, radius to the farthest pixel, degree=12,
# cm=centroid), places 2, 3, 4, 8, 12, 20 and 48 of its answer.
MAHOTAS = {
    2: 0.4034758527890366,
    3: 0.148891921049534,
    4: 0.14424219853183584,
    8: 0.044752536472111734,
    12: 0.06658073344567655,
    20: 0.13026870316131936,
    48: 0.030018249965906123,
}


def l_shape() -> Mask:
    mask = np.zeros((64, 64), dtype=np.bool_)
    mask[10:50, 8:24] = True
    mask[36:50, 8:58] = True
    return mask


def silhouette(name: str, package: str) -> Mask:
    return next(
        s.mask for s in open_silhouettes() if (s.name, s.package) == (name, package)
    )


def test_zernike_moments_agree_with_a_library_of_others() -> None:
    found = np.abs(zernike_moments(l_shape()))
    assert len(found) == len(orders()) == 49
    assert {k: found[k] for k in MAHOTAS} == pytest.approx(MAHOTAS, abs=1e-12)


def test_a_mirrored_shape_has_mirrored_moments() -> None:
    here, there = zernike_moments(l_shape()), zernike_moments(l_shape()[:, ::-1])
    assert flopped(here) == pytest.approx(there, abs=1e-12)
    assert np.abs(here - there).max() > 0.05


def test_a_shape_twice_as_large_has_the_same_moments() -> None:
    small = zernike_moments(l_shape())
    large = zernike_moments(np.kron(l_shape(), np.ones((4, 4))) > 0)
    assert np.abs(large - small).max() < 0.02


def test_edge_points_of_a_square_lie_at_even_steps() -> None:
    square = np.zeros((64, 64), dtype=np.bool_)
    square[12:52, 12:52] = True
    points = edge_points(square, 40)
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    # The contour runs half a pixel outside; a step round a corner is shorter by chord.
    assert np.median(steps) == pytest.approx(4.0, abs=0.1)
    assert points.min() == pytest.approx(12.5, abs=0.1)


def test_a_point_right_of_another_falls_in_its_first_sector() -> None:
    histograms = shape_contexts(np.array([[0.0, 0.0], [10.0, 1.0]]))
    # As far as the mean distance: the fourth ring goes from a half up to it.
    seen = np.flatnonzero(histograms[0]).tolist()
    back = np.flatnonzero(histograms[1]).tolist()
    assert [at % 12 for at in seen + back] == [0, 6]
    assert seen[0] // 12 == back[0] // 12 == 3


def test_contexts_of_a_shape_match_themselves_and_their_mirror() -> None:
    here = shape_contexts(edge_points(l_shape()))
    there = shape_contexts(edge_points(l_shape()[:, ::-1]))
    known = np.stack([here, there])
    same, other = context_distances(here, known)
    assert same == pytest.approx(0, abs=1e-12)
    assert other > 0.1
    assert context_distances(flopped_contexts(here), known)[1] < 0.5 * other


def test_the_cost_of_a_match_is_chi_squared() -> None:
    rng = np.random.default_rng(4)
    drawn = rng.random((3, 12, 60)) * (rng.random((3, 12, 60)) < 0.3)
    shares = drawn / drawn.sum(axis=-1, keepdims=True)
    asking, known = shares[0], shares[1:]
    both = asking[:, None, None] + known
    apart = (asking[:, None, None] - known) ** 2 / np.where(both > 0, both, 1.0)
    best = 0.5 * apart.sum(axis=-1).min(axis=-1)  # (points, known), Belongie et al. (1)
    assert context_distances(asking, known) == pytest.approx(best.mean(axis=0))


def test_fitting_keeps_upright_shapes_upright() -> None:
    cell = fitted(l_shape()[10:50, 8:24])
    rows, columns = np.nonzero(cell)
    assert cell.shape == (CELL_PX, CELL_PX)
    assert np.ptp(rows) == 59
    assert np.ptp(columns) == pytest.approx(60 * 16 / 40, abs=1)
    assert not fitted(np.zeros((9, 9), dtype=np.bool_)).any()


def test_every_class_of_the_open_set_is_well_stocked() -> None:
    count = Counter(s.kind for s in open_silhouettes())
    assert {*VEHICLES, "person", "animal", "tree", "house", "tool"} == set(count)
    assert {kind: n for kind, n in count.items() if n < 12} == {"tractor": 8}
    assert all(s.mask.sum() > 200 for s in open_silhouettes())


def test_every_package_of_the_open_set_states_version_and_licence() -> None:
    text = (FOLDER / "LICENCES.txt").read_text(encoding="utf-8")
    used = {(s.package, s.version, s.licence) for s in open_silhouettes()}
    assert len(used) == 7
    for package, version, licence in used:
        line = next(row for row in text.splitlines() if row.startswith(package + " "))
        assert f"{package} {version}:" in line
        assert licence in line


@pytest.mark.parametrize(
    ("name", "package"),
    [("human-male", "@mdi/svg"), ("person-standing", "bootstrap-icons")],
)
def test_a_standing_person_reads_as_one_whichever_way_it_faces(
    name: str, package: str
) -> None:
    mask = silhouette(name, package)
    for reading in (
        *read_silhouette(mask).values(),
        *read_silhouette(mask[:, ::-1]).values(),
    ):
        assert reading.as_person
        assert reading.lean < -0.2


def test_a_person_lying_down_no_longer_leans_so_far() -> None:
    mask = silhouette("human-male", "@mdi/svg")
    upright, lying = read_silhouette(mask), read_silhouette(mask.T)
    assert all(lying[name].lean > upright[name].lean + 0.1 for name in upright)


def test_an_outline_is_painted_with_its_holes() -> None:
    frame = Polygon(box(0, 0, 30, 60).exterior, [box(10, 20, 20, 40).exterior])
    mask = mask_of(frame, 60)
    assert mask.shape == (60, 30)
    assert mask.mean() == pytest.approx(1 - 200 / 1800, abs=0.02)
    assert not mask[30, 15]


def test_nothing_at_all_leans_neither_way() -> None:
    readings = read_silhouette(np.zeros((40, 40), dtype=np.bool_))
    assert [(r.nearest, r.lean) for r in readings.values()] == [("nothing", 0.0)] * 2


def test_the_turn_is_found_to_the_frame() -> None:
    asked: list[int] = []

    def lean(frame: int) -> float:
        asked.append(frame)
        return 0.3 if frame < 41 else -0.2

    leans, turn = turning_frame(72, lean)
    assert turn == 41
    assert list(leans) == sorted(leans)
    assert len(asked) < 20


@pytest.mark.parametrize("lean", [0.2, -0.2])
def test_a_shot_that_stays_what_it_is_never_turns(lean: float) -> None:
    assert turning_frame(30, lambda _: lean)[1] is None


@pytest.mark.slow
def test_the_rates_on_the_page_are_those_of_the_set() -> None:
    (found,) = hits_left_out(["Zernike moments"]).values()
    assert found == pytest.approx(measured_hits()["Zernike moments"], abs=0.05)
    for rates in measured_hits().values():
        assert min(rates["vehicle"], rates["person"]) > 0.85
