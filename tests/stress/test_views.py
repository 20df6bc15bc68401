from __future__ import annotations

import numpy as np
import pytest

from panelbeater.stress.views import (
    COLOUR_BLIND,
    as_thumbnail,
    blurred,
    edge_differences,
    simulated,
    told_apart,
    ways_of_seeing,
)
from panelbeater.terms.arrays import Ints


def halves(left: tuple[int, ...], right: tuple[int, ...]) -> np.ndarray:
    picture = np.zeros((40, 60, 3), dtype=np.uint8)
    picture[:, :30], picture[:, 30:] = left, right
    return picture


def half_labels() -> Ints:
    labels = np.full((40, 60), 2, dtype=np.int64)
    labels[:, 30:] = 3
    return labels


def test_black_and_white_differ_by_a_hundred() -> None:
    found = edge_differences(halves((0, 0, 0), (255, 255, 255)), half_labels())
    assert found == pytest.approx({2: 100.0, 3: 100.0}, abs=0.01)


@pytest.mark.parametrize("name", COLOUR_BLIND)
def test_grey_stays_grey_to_every_eye(name: str) -> None:
    grey = np.full((2, 2, 3), 140, dtype=np.uint8)
    assert np.abs(simulated(grey, COLOUR_BLIND[name]).astype(int) - 140).max() <= 1


# Machado, Oliveira & Fernandes 2009, table of matrices, severity 1.0: protanomaly,
# deuteranomaly, tritanomaly; colorspacious 1.1.2, cvd.machado_et_al_2009_matrix(kind, 100),
# gives the same. Below each its cspace_convert of the colours in COLOURS, from sRGB1+CVD to
# sRGB1, clipped and rounded to bytes.
PUBLISHED = {
    "without red cones": (
        (0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216,
         -0.003882, -0.048116, 1.051998),
        ((101, 91, 36), (140, 123, 7), (202, 181, 63), (0, 121, 255), (255, 231, 0),
         (128, 128, 128), (171, 150, 0), (0, 24, 61)),
    ),
    "without green cones": (
        (0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413,
         -0.011820, 0.042940, 0.968881),
        ((136, 122, 34), (139, 125, 39), (184, 168, 88), (0, 106, 252), (255, 238, 51),
         (128, 128, 128), (200, 178, 0), (0, 26, 59)),
    ),
    "without blue cones": (
        (1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602,
         0.004733, 0.691367, 0.303900),
        ((220, 0, 57), (128, 122, 111), (0, 195, 174), (0, 133, 165), (255, 223, 205),
         (128, 128, 128), (255, 107, 115), (37, 22, 34)),
    ),
}  # fmt: skip
COLOURS = ((200, 60, 40), (120, 130, 30), (12, 200, 77), (90, 90, 255), (250, 240, 20),
           (128, 128, 128), (255, 135, 0), (40, 10, 60))  # fmt: skip


@pytest.mark.parametrize("name", PUBLISHED)
def test_colour_blind_views_are_the_published_ones(name: str) -> None:
    matrix, seen = PUBLISHED[name]
    assert COLOUR_BLIND.keys() == PUBLISHED.keys()
    assert COLOUR_BLIND[name].ravel().tolist() == list(matrix)
    found = simulated(np.array([COLOURS], dtype=np.uint8), COLOUR_BLIND[name])
    assert np.abs(found[0].astype(int) - np.array(seen)).max() <= 1


def test_red_beside_green_is_harder_without_green_cones() -> None:
    picture = halves((200, 60, 40), (120, 130, 30))
    seen = edge_differences(picture, half_labels())[2]
    blind = edge_differences(
        simulated(picture, COLOUR_BLIND["without green cones"]), half_labels()
    )[2]
    assert blind < 0.5 * seen


def test_a_fine_stripe_is_lost_in_a_thumbnail_and_a_blur() -> None:
    picture = np.full((256, 256, 3), 240, dtype=np.uint8)
    labels = np.zeros((256, 256), dtype=np.int64)
    picture[100:102], labels[100:102] = 60, 2
    sharp = edge_differences(picture, labels)[2]
    small = edge_differences(as_thumbnail(picture, 64), labels)[2]
    soft = edge_differences(blurred(picture, 1 / 40), labels, across_px=16)[2]
    assert small < 0.7 * sharp
    assert soft < 0.2 * sharp


def test_told_apart_counts_pieces_not_pixels() -> None:
    assert told_apart({0: 9.0, 1: 11.0, 2: 30.0, 3: 10.0}, 10.0) == (0.75, [0])
    assert told_apart({}, 10.0) == (0.0, [])


def test_every_way_of_seeing_keeps_the_picture_its_size() -> None:
    picture = halves((10, 20, 30), (200, 190, 180))
    names = [sight.name for sight in ways_of_seeing()]
    assert len(names) == len(set(names)) == 8
    assert all(sight.look(picture).shape == picture.shape for sight in ways_of_seeing())
