"""Is every key pose held long enough to be read?"""

from __future__ import annotations

import numpy as np

from panelbeater.scores.arrays import Flags
from panelbeater.scores.motion.runs import spans
from panelbeater.scores.result import Score, Target
from panelbeater.scores.tracks import Tracks, centroids


def still_spans(tracks: Tracks) -> list[tuple[int, int]]:
    """Half-open spans of frames in which neither a visible piece nor a bone moves.

    Moving: a centroid goes more than 0.001 W from one frame to the next. A span of one
    frame is no hold and is left out.
    """
    limit = tracks.limits.moving * tracks.width
    both = tracks.visible[1:] & tracks.visible[:-1]
    shift = np.diff(tracks.centroid, axis=0) * both[..., None]
    body = np.diff(centroids(tracks.bones), axis=0)
    still: Flags = np.all(np.hypot(shift[..., 0], shift[..., 1]) <= limit, axis=1)
    still &= (np.hypot(body[..., 0], body[..., 1]) <= limit).all(axis=1)
    return [(low, high + 1) for low, high in spans(still)]


def score_hold(tracks: Tracks) -> tuple[Score, ...]:
    """Hold: frames the vehicle, the robot and the longest pose between stand still.

    Wanted: at least 6 for the first key and 12 for the final pose (metrics.md; reading time
    of a picture about 250-500 ms: Potter 2012). Frames.
    """
    limits = tracks.limits
    n_frames = len(tracks.frames)
    found = still_spans(tracks)
    first = next((high - low for low, high in found if low == 0), 1)
    final = next((high - low for low, high in found if high == n_frames), 1)
    # The last thing seen is held longest, whichever it is.
    held = (limits.hold_key_frames, limits.hold_final_frames)
    vehicle, robot = reversed(held) if tracks.shot.reverse else held
    inner = [high - low for low, high in found if low > 0 and high < n_frames]
    return (
        Score(
            "hold of the vehicle",
            float(first),
            "frames",
            Target(low=vehicle),
        ),
        Score(
            "hold of the robot",
            float(final),
            "frames",
            Target(low=robot),
        ),
        Score("longest hold between", float(max(inner, default=0)), "frames"),
    )
