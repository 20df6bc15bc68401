"""Frames and figures in words: frames count from 1 for people, runs are drawn together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence


def frames_in_words(frames: Sequence[float]) -> str:
    """`frames 12-17, 20` from frame numbers that count from 0; empty for none.

    A gap of one frame or less (a half frame counts as half) continues a run.
    """
    runs: list[list[float]] = []
    for frame in sorted(frames):
        if runs and frame - runs[-1][1] <= 1:
            runs[-1][1] = frame
        else:
            runs.append([frame, frame])
    parts = [
        f"{low + 1:g}" if low == high else f"{low + 1:g}-{high + 1:g}" for low, high in runs
    ]
    if not parts:
        return ""
    single = len(parts) == 1 and "-" not in parts[0]
    return ("frame " if single else "frames ") + ", ".join(parts)


def number_in_words(value: float) -> str:
    """Four digits are enough to compare by eye."""
    return f"{value:.4g}"


def same_frames(
    hits: Mapping[str, Sequence[float]],
) -> list[tuple[tuple[float, ...], tuple[str, ...]]]:
    """Names that fail in exactly the same frames, drawn together, earliest first."""
    groups: dict[tuple[float, ...], list[str]] = {}
    for name, frames in hits.items():
        if frames:
            groups.setdefault(tuple(sorted(frames)), []).append(name)
    return [(frames, tuple(groups[frames])) for frames in sorted(groups)]
