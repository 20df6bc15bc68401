"""Hands a finished plan over in the open formats that other programs take."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from panelbeater.animation import ShotPlan
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import DrawingError
from panelbeater.exports import (
    export_apng,
    export_contact_pdf,
    export_exposure_pdf,
    export_gif,
    export_gltf,
    export_layers,
    export_lottie,
    export_png_sequence,
    export_rig_svg,
    export_smil_svg,
    export_video,
)
from panelbeater.flashing import caution_of, flash_json, flash_of, flash_warning
from panelbeater.scores import FlashReport
from panelbeater.terms.rig import Rig, Sample
from panelbeater.verdict import captions, judge


@dataclass(frozen=True, slots=True)
class HandedOver:
    """What one format came to."""

    format: str
    paths: tuple[Path, ...]
    """The files; a folder for a sequence."""
    notes: tuple[str, ...] = ()
    """What of the artwork the format cannot say."""


@dataclass(frozen=True, slots=True)
class Handover:
    """Everything written, and what the flash meter says of it."""

    done: tuple[HandedOver, ...]
    flash: FlashReport
    caution: str

    def to_json(self) -> dict[str, Any]:
        """Plain values for --json."""
        return {
            "exports": [
                {
                    "format": one.format,
                    "files": [str(path) for path in one.paths],
                    "notes": list(one.notes),
                }
                for one in self.done
            ],
            "caution": self.caution,
            "flash": flash_json(self.flash),
        }


@dataclass(frozen=True, eq=False)
class _Parcel:
    """One plan on its way out; formats share what is worked out once."""

    plan: ShotPlan
    folder: Path
    width_px: int
    caution: str = ""
    notes: list[str] = field(default_factory=list)

    @cached_property
    def shown(self) -> tuple[Rig, Sample]:
        """Rig and sample with every drawing held as long as the shot's exposure says."""
        rig, sample = self.plan.rig, self.plan.sample
        n_frames, exposure = rig.shot.n_frames, rig.shot.exposure
        if exposure == 1:
            return rig, sample
        held = np.arange(n_frames) // exposure * exposure
        held[-1] = n_frames - 1  # the robot is always reached
        return replace(rig, depth=rig.depth[held]), sample.at(held)

    def picture(self, name: str, export: Callable[..., None]) -> tuple[Path, ...]:
        """A format that is painted, at the width asked for."""
        path = self.folder / name
        export(*self.shown, path, width_px=self.width_px, caution=self.caution)
        return (path,)

    def vector(self, name: str, export: Callable[..., Any]) -> tuple[Path, ...]:
        """A format that keeps the shapes."""
        path = self.folder / name
        self.notes.extend(export(*self.shown, path, caution=self.caution) or ())
        return (path,)

    def sheet(self) -> tuple[Path, ...]:
        """The printed contact sheet with the judge's figures."""
        path = self.folder / "contact-sheet.pdf"
        words = captions(judge(self.plan))
        export_contact_pdf(*self.shown, path, captions=words, caution=self.caution)
        return (path,)

    def exposure(self) -> tuple[Path, ...]:
        """The printed exposure sheet; it does its own holding."""
        path = self.folder / "exposure-sheet.pdf"
        export_exposure_pdf(self.plan.rig, self.plan.sample, path, caution=self.caution)
        return (path,)

    def layers(self) -> tuple[Path, ...]:
        """Both end drawings."""
        ends = {"vehicle": 0, "robot": self.plan.rig.shot.n_frames - 1}
        paths = tuple(self.folder / f"layers-{name}.svg" for name in ends)
        for path, frame in zip(paths, ends.values(), strict=True):
            export_layers(*self.shown, path, frame=frame, caution=self.caution)
        return paths


FORMATS: dict[str, Callable[[_Parcel], tuple[Path, ...]]] = {
    "svg": lambda parcel: (
        *parcel.vector("shot-css.svg", export_rig_svg),
        *parcel.vector("shot-smil.svg", export_smil_svg),
    ),
    "lottie": lambda parcel: parcel.vector("shot-lottie.json", export_lottie),
    "gltf": lambda parcel: parcel.vector("shot.glb", export_gltf),
    "png": lambda parcel: parcel.picture("frames", export_png_sequence),
    "apng": lambda parcel: parcel.picture("shot.apng", export_apng),
    "gif": lambda parcel: parcel.picture("shot.gif", export_gif),
    "mp4": lambda parcel: parcel.picture("shot.mp4", export_video),
    "webm": lambda parcel: parcel.picture("shot.webm", export_video),
    "sheet-pdf": _Parcel.sheet,
    "exposure-pdf": _Parcel.exposure,
    "layers": _Parcel.layers,
}
"""Every format by the name it is asked for on the command line."""


def hand_over(
    plan: ShotPlan,
    formats: Sequence[str],
    folder: Path,
    *,
    width_px: int = 960,
    allow_flashing: bool = False,
    effort: Effort = QUIET,
) -> Handover:
    """Write the plan into `folder` in each of `formats`, each file whole or not at all.

    The flash meter looks first: a shot that fails is written only where `allow_flashing`
    says so, and carries a caution. Raises DrawingError for a failing shot, an unknown
    format, a format whose extra is not installed, or a folder that cannot be made.
    """
    unknown = sorted(set(formats) - set(FORMATS))
    if unknown:
        raise DrawingError(f"no format {unknown[0]!r}; there are {', '.join(FORMATS)}")
    effort.note("looking for flashes")
    flash = flash_of(plan)
    if flash.fails and not allow_flashing:
        raise DrawingError(f"{flash_warning(flash)[0]} (--allow-flashing writes it anyway)")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DrawingError(f"{folder}: cannot make this folder: {error.strerror}") from None
    parcel = _Parcel(plan, folder, width_px, caution_of(flash))
    done = []
    for name in dict.fromkeys(formats):
        effort.note(f"writing {name}")
        parcel.notes.clear()
        paths = FORMATS[name](parcel)
        done.append(HandedOver(name, paths, tuple(dict.fromkeys(parcel.notes))))
    return Handover(tuple(done), flash, parcel.caution)
