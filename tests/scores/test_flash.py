"""The flash meter against the words of WCAG 2.2 SC 2.3.1 and vectors with known answers."""

from __future__ import annotations

import numpy as np
import pytest

from panelbeater.errors import DrawingError
from panelbeater.scores import FlashReport, measure_flashes
from panelbeater.scores.flash.colour import Picture, chromaticity, linear, luminance

FPS = 24
Colour = tuple[int, int, int]


def grey(level: int) -> Colour:
    return level, level, level


def square_wave(hertz: float, one: Colour, other: Colour, seconds: int = 2) -> Picture:
    """(n, 30, 30, 3): `hertz` times a second from one colour to the other and back."""
    half = FPS / (2 * hertz)
    phase = (np.arange(FPS * seconds) // half).astype(int) % 2
    colours = np.array([one, other], dtype=np.uint8)[phase]
    return np.broadcast_to(colours[:, None, None], (len(phase), 30, 30, 3)).copy()


def measure(one: Colour, other: Colour, hertz: float = 6) -> FlashReport:
    return measure_flashes(square_wave(hertz, one, other), FPS)


@pytest.mark.parametrize("hertz", [2, 3, 4, 6, 12])
def test_a_square_wave_flashes_as_often_as_it_says(hertz: int) -> None:
    report = measure(grey(0), grey(255), hertz)
    assert report.general.flashes == hertz
    assert report.general.turns == 2 * hertz
    assert report.red.flashes == 0
    # "no more than three flashes": the spacing of 3 Hz at 24 fps is the 8 frames of film.
    assert report.fails is (hertz > 3)
    assert report.general.closest_frames == FPS // hertz
    assert report.is_spaced is (hertz <= 3)


@pytest.mark.parametrize(
    ("one", "other", "fails"),
    [
        (0, 89, False),  # relative luminance 0.0999: below 10 %
        (0, 90, True),  # 0.1022
        (231, 255, True),  # the darker picture is 0.7991
        (232, 255, False),  # 0.8069: not below 0.80
    ],
)
def test_only_a_dark_enough_tenth_is_a_flash(one: int, other: int, *, fails: bool) -> None:
    report = measure(grey(one), grey(other))
    assert report.fails is fails
    assert report.general.flashes_anywhere == (6 if fails else 0)
    assert (report.general.turns_anywhere > 0) is fails


def test_seven_transitions_in_a_second_fail_and_six_do_not() -> None:
    for turns, fails in ((6, False), (7, True)):
        frames = np.zeros((FPS * 2, 9, 9, 3), dtype=np.uint8)
        for at in range(turns):
            frames[3 * (at + 1) :] = 255 if at % 2 == 0 else 0
        report = measure_flashes(frames, FPS)
        assert (report.general.turns, report.fails) == (turns, fails)


def patch(share: float, size: int) -> Picture:
    """A flashing corner that is `share` of a size x size square, in a 300 x 300 picture."""
    frames = np.zeros((FPS, 300, 300, 3), dtype=np.uint8)
    tall = round(size * share)
    frames[1::2, :tall, :size] = 255
    return frames


@pytest.mark.parametrize(("share", "fails"), [(0.20, False), (0.30, True)])
def test_a_patch_fails_above_a_quarter_of_the_field(share: float, *, fails: bool) -> None:
    # A picture that fills the screen: the field of 10 degrees is a third of it each way.
    report = measure_flashes(patch(share, 100), FPS)
    assert report.fails is fails
    assert report.general.flashes_anywhere == 11  # 23 transitions, whatever the area
    # A picture no larger than the field itself: shares of the whole picture.
    assert measure_flashes(patch(share, 300), FPS, field=(1.0, 1.0)).fails is fails


def test_scattered_patches_count_by_the_field_that_sees_most_of_them() -> None:
    frames = np.zeros((FPS, 300, 300, 3), dtype=np.uint8)
    frames[1::2, ::2, ::2] = 255  # a quarter of every field, no more
    assert not measure_flashes(frames, FPS).fails
    frames[1::2, 1::2, ::2] = 255
    assert measure_flashes(frames, FPS).fails


def test_equal_luminance_red_and_grey_is_red_only() -> None:
    # Red has 0.2126, grey 127 has 0.2122.
    report = measure((255, 0, 0), grey(127))
    assert report.general.turns_anywhere == 0
    assert report.red.flashes == 6
    assert report.fails


def test_red_counts_by_its_share_of_linear_light_and_by_its_distance() -> None:
    # Green 135 has linear light 0.242, so red has 1 / 1.242 = 0.805; 140 has 0.262: 0.792.
    assert measure((255, 0, 0), (0, 0, 255)).red.flashes == 6
    assert measure((255, 135, 0), (0, 0, 255)).red.flashes == 6
    assert measure((255, 140, 0), (0, 0, 255)).red.flashes == 0
    # From one saturated red to another the distance stays below 0.2.
    assert measure((255, 0, 0), (255, 135, 0)).red.flashes == 0


def test_ripples_neither_count_nor_hide_a_change() -> None:
    levels = [0, 60, 55, 95, 90, 120, 60, 65, 0] * 6
    frames = np.array(levels, dtype=np.uint8)[:, None, None, None]
    frames = np.broadcast_to(frames, (len(levels), 6, 6, 3))
    report = measure_flashes(frames, FPS)
    # One rise and one fall every nine frames; five whole ones in 24 at the most.
    assert 5 <= report.general.turns <= 6


def test_a_slow_fade_is_one_change() -> None:
    frames = np.arange(0, 250, 5, dtype=np.uint8)[:, None, None, None]
    report = measure_flashes(np.broadcast_to(frames, (50, 6, 6, 3)), FPS)
    assert report.general.turns == 1
    assert report.general.closest_frames == 0


def test_a_bar_that_crosses_the_picture_once_is_no_row_of_flashes() -> None:
    frames = np.zeros((48, 48, 48, 3), dtype=np.uint8)
    for at in range(48):
        frames[at, :, at : at + 8] = 255
    assert measure_flashes(frames, FPS).general.turns <= 2


def test_luminance_and_chromaticity_match_the_standards() -> None:
    # IEC 61966-2-1 primaries in CIE 1976 u'v'; D65 white 0.1978, 0.4683.
    colours = np.array(
        [[[255, 0, 0], [0, 255, 0], [0, 0, 255], [255, 255, 255], [0, 0, 0]]]
    )
    light = linear(colours.astype(np.uint8))
    assert luminance(light)[0] == pytest.approx([0.2126, 0.7152, 0.0722, 1.0, 0.0])
    wanted = [(0.4507, 0.5229), (0.125, 0.5625), (0.1754, 0.1579), (0.1978, 0.4683),
              (0.1978, 0.4683)]  # fmt: skip
    found = chromaticity(light)[:, 0].T
    assert found == pytest.approx(np.array(wanted), abs=2e-4)


# colour-science 0.4.7: Y of RGB_to_XYZ(byte / 255, "sRGB", apply_cctf_decoding=True), and
# xy_to_Luv_uv(XYZ_to_xy(XYZ)).
COLOUR_SCIENCE: dict[Colour, tuple[float, float, float]] = {
    (255, 0, 0): (0.212600, 0.450797, 0.522887),
    (200, 30, 10): (0.132298, 0.428005, 0.523470),
    (255, 135, 0): (0.385879, 0.310359, 0.539962),
    (12, 200, 77): (0.419225, 0.127857, 0.544589),
    (90, 90, 255): (0.167060, 0.183228, 0.265685),
    (250, 240, 20): (0.826947, 0.209541, 0.551371),
    (128, 128, 128): (0.215861, 0.197841, 0.468323),
    (40, 10, 60): (0.009944, 0.241247, 0.300012),
}


def test_luminance_and_chromaticity_agree_with_a_colour_library() -> None:
    light = linear(np.array([[list(COLOUR_SCIENCE)]], dtype=np.uint8)[0])
    found = np.stack([luminance(light), *chromaticity(light)], axis=-1)[0]
    assert found == pytest.approx(np.array([*COLOUR_SCIENCE.values()]), abs=2e-4)


def test_the_meter_refuses_what_is_no_film() -> None:
    with pytest.raises(DrawingError, match="n, h, w, 3"):
        measure_flashes(np.zeros((3, 4, 5), dtype=np.uint8), FPS)
    with pytest.raises(DrawingError, match="frame rate"):
        measure_flashes(np.zeros((3, 4, 5, 3), dtype=np.uint8), 0)


def relative_luminance(colour: Colour) -> float:
    """Written out again from the text of WCAG 2.2, apart from the meter's own."""
    light = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
             for c in (byte / 255 for byte in colour)]  # fmt: skip
    return 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]


GREYS = [(0, 80), (0, 89), (0, 90), (0, 255), (60, 105), (60, 120), (120, 150), (128, 144),
         (200, 215), (200, 222), (231, 255), (232, 255), (240, 255), (30, 40)]  # fmt: skip
REDS: list[tuple[Colour, Colour, bool]] = [
    ((255, 0, 0), (127, 127, 127), True),
    ((200, 0, 0), (99, 99, 99), True),
    ((255, 0, 0), (0, 0, 255), True),
    ((220, 0, 0), (255, 20, 20), False),  # red to red, 0.15 to 0.22
    ((220, 180, 120), (200, 190, 130), False),  # no saturated red
    ((90, 90, 255), (110, 80, 235), False),
]
RATES = [1, 2, 3, 4, 6, 12]
SHARES = [0.1, 0.2, 0.3, 0.6]


def test_480_vectors_are_neither_missed_nor_falsely_found() -> None:
    # Expected by the words of SC 2.3.1 alone: more than three a second, a tenth of the
    # luminance with the darker below 0.8, or a saturated red, over a quarter of the field.
    vectors: list[tuple[Colour, Colour, bool]] = []
    for a, b in GREYS:
        low, high = relative_luminance(grey(a)), relative_luminance(grey(b))
        vectors.append((grey(a), grey(b), high - low >= 0.1 and low < 0.8))
    vectors += REDS
    wrong, n_vectors = [], 0
    for one, other, flashes in vectors:
        for hertz in RATES:
            wave = square_wave(hertz, one, other, seconds=1)[:, :10, :10]
            for share in SHARES:
                frames = np.full_like(wave, one[0])
                frames[:, : round(10 * share)] = wave[:, : round(10 * share)]
                report = measure_flashes(frames, FPS, field=(1.0, 1.0))
                n_vectors += 1
                if report.fails is not (flashes and hertz > 3 and share > 0.25):
                    wrong.append((one, other, hertz, share))
    assert n_vectors == 480
    assert wrong == []


def test_a_patterned_picture_that_moves_is_not_a_flash() -> None:
    # Bars one pixel wide, six apart, walk a pixel a frame: every spot turns eight times a
    # second, but never more than a sixth of any field turns the same way at once.
    column = np.arange(96)
    walked = (column[None] + np.arange(48)[:, None]) % 6 == 0  # (n_frames, w)
    grey = np.where(walked, 0, 255).astype(np.uint8)
    frames = np.repeat(np.repeat(grey[:, None, :, None], 72, axis=1), 3, axis=3)
    report = measure_flashes(frames, 24)
    assert report.general.turns == 0
    assert report.general.turns_anywhere >= 7
    assert not report.fails


def test_a_flash_of_the_whole_field_fails_whatever_else_moves() -> None:
    blink = (np.arange(48) // 3) % 2  # 4 Hz at 24 a second
    grey = np.where(blink, 230, 20).astype(np.uint8)
    frames = np.broadcast_to(grey[:, None, None, None], (48, 72, 96, 3)).copy()
    frames[:, ::9] = 128
    assert measure_flashes(frames, 24).fails
