"""Does the outline alone say vehicle first and person last? Two shape descriptors."""

from panelbeater.stress.recognition.reading import (
    DESCRIPTORS,
    Reading,
    hits_left_out,
    measured_hits,
    read_silhouette,
    turning_frame,
)
from panelbeater.stress.recognition.silhouettes import (
    VEHICLES,
    Mask,
    mask_of,
    open_silhouettes,
)

__all__ = [
    "DESCRIPTORS",
    "VEHICLES",
    "Mask",
    "Reading",
    "hits_left_out",
    "mask_of",
    "measured_hits",
    "open_silhouettes",
    "read_silhouette",
    "turning_frame",
]
