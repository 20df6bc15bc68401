"""The flash meter gives the same answer however finely a shot is sampled."""

from __future__ import annotations

import numpy as np
import pytest

from panelbeater.scores import measure_flashes
from panelbeater.scores.flash.colour import Picture
from panelbeater.terms.arrays import Floats

RATES = [24, 25, 30, 48, 60, 120]
WHOLE = (1.0, 1.0)
"""The picture is the 10-degree field."""


def film(light: Floats) -> Picture:
    """(n, h, w, 3) greys of relative luminance `light`, (n, h, w), by IEC 61966-2-1."""
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    grey = np.round(255 * coded).astype(np.uint8)
    return np.repeat(grey[..., None], 3, axis=-1)


def fading(hertz: float, fps: int, least: float, shift_s: float = 0.0) -> Picture:
    """Two seconds of cosine flicker; each column has its own swing, from `least` to 0.9.

    `shift_s` is by how much the last column trails the first.
    """
    swing = np.linspace(least, 0.9, 12)
    late = np.linspace(0.0, shift_s, 12)
    time = np.arange(2 * fps) / fps
    wave = 0.5 - 0.5 * np.cos(2 * np.pi * hertz * (time[:, None] - late))  # (n, 12)
    light = np.repeat((0.01 + swing * wave)[:, None], 4, axis=1)
    return film(light)


@pytest.mark.parametrize(
    ("hertz", "fps"),
    # 3 Hz, on the very limit, only where its turns fall on pictures.
    [(h, fps) for h in (2, 3, 4, 6) for fps in RATES if (h, fps) != (3, 25)],
)
def test_a_soft_flicker_counts_as_often_at_every_rate(hertz: int, fps: int) -> None:
    # Weak columns take longer over their first tenth than strong ones: still one flash.
    report = measure_flashes(fading(hertz, fps, least=0.2), fps, field=WHOLE)
    assert report.general.turns == 2 * hertz
    assert report.fails is (hertz > 3)
    assert report.is_spaced is (hertz <= 3)


@pytest.mark.parametrize("fps", RATES)
def test_a_flicker_that_ripples_through_within_a_frame_of_film_is_one(fps: int) -> None:
    # The columns that trail end a fall of their own before the first second begins.
    report = measure_flashes(fading(5, fps, 0.5, shift_s=1 / 24), fps, field=WHOLE)
    assert 10 <= report.general.turns <= 11


def bars(step_px: float, fps: int, *, period_px: int = 24) -> Picture:
    """Two seconds of light and dark bars that walk `step_px` in each frame of film."""
    right = np.arange(1, 49)  # right edge of each column
    walked = step_px * 24 / fps * np.arange(2 * fps)
    edge = right[None] - walked[:, None]  # (n, 48)

    def lit(x: Floats) -> Floats:
        """How much of the wave up to x is light."""
        turn, rest = np.divmod(x, period_px)
        return turn * period_px / 2 + np.minimum(rest, period_px / 2)

    light = np.clip(lit(edge) - lit(edge - 1.0), 0.0, 1.0)
    return film(np.repeat(light[:, None], 2, axis=1))


@pytest.mark.parametrize("fps", [24, 48, 72, 96, 120])
@pytest.mark.parametrize(("step_px", "is_flash"), [(2, False), (4, False), (8, True)])
def test_moving_bars_flash_by_the_ground_their_edges_cover_in_a_frame_of_film(
    step_px: int, fps: int, *, is_flash: bool
) -> None:
    # One way at once changes step / period of the field: 1/12 and 1/6, against 1/3. Every
    # spot turns twice a period: 2 * 24 * step / period times a second, that is 4, 8, 16.
    report = measure_flashes(bars(step_px, fps), fps, field=WHOLE)
    per_second = 2 * 24 * step_px // 24
    assert per_second <= report.general.turns_anywhere <= per_second + 1
    wanted = report.general.turns_anywhere if is_flash else 0
    assert abs(report.general.turns - wanted) <= 1
    assert report.fails is is_flash


def test_drawings_held_on_twos_count_as_they_are_shown() -> None:
    # The same drawings at 12 a second and held at 24 are the same film.
    shown = bars(8, 12)
    held = np.repeat(shown, 2, axis=0)
    one = measure_flashes(shown, 12, field=WHOLE)
    two = measure_flashes(held, 24, field=WHOLE)
    assert (one.general.turns, one.fails) == (two.general.turns, two.fails)


@pytest.mark.parametrize("fps", [25, 30, 50, 60])
def test_square_waves_are_judged_alike_at_other_rates(fps: int) -> None:
    for hertz, fails in ((2, False), (3, False), (4, True), (6, True)):
        on = (np.arange(2 * fps) * 2 * hertz // fps) % 2
        frames = film(np.broadcast_to(0.9 * on[:, None, None], (2 * fps, 4, 4)))
        report = measure_flashes(frames, fps, field=WHOLE)
        assert (report.general.turns, report.fails) == (2 * hertz, fails)
