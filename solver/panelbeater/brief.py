"""Reads the animator's brief: the drawings, the length of the shot, pins and bans."""

from __future__ import annotations

import difflib
import re
import tomllib
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from panelbeater.brief_checks import asked_of, changed_limits, check_wishes, line_of
from panelbeater.errors import DrawingError, plain
from panelbeater.shot import Request
from panelbeater.terms.drawing import Wishes
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold import read_pose

Finite = Annotated[float, Field(allow_inf_nan=False)]
Ease = Literal[
    "with-limb", "minimum-jerk", "linear", "ease", "ease-in", "ease-out", "ease-in-out"
]
Action = Literal["rise", "crouch"]
Limb = Literal["arm_l", "arm_r", "leg_l", "leg_r", "head"]


_MOST_BYTES = 2**20
_MOST_PROBLEMS = 50


class Brief(BaseModel):
    """The file as written; paths are relative to the brief itself."""

    model_config = ConfigDict(extra="forbid")

    vehicle: str
    figure: str
    pieces: str | None = None
    title: str | None = None
    frames: int = Field(72, ge=24, le=1000)
    fps: int = Field(24, ge=1, le=120)
    exposure: int = Field(1, ge=1, le=4)
    ease: Ease = "with-limb"
    action: Action = "rise"
    reverse: bool = False
    only: list[Limb] = Field(default_factory=list)
    seed: int = Field(1, ge=0, le=2**31 - 1)
    budget: float = Field(1.0, gt=0, le=1000, allow_inf_nan=False)
    figure_height: float | None = Field(None, gt=0, le=1e6)
    poses: list[str] = Field(default_factory=list)
    pin: dict[str, str] = Field(default_factory=dict)
    ban: dict[str, list[str]] = Field(default_factory=dict)
    cover: dict[str, Finite] = Field(default_factory=dict)
    habits: dict[str, dict[str, Finite]] = Field(default_factory=dict)
    clear: dict[str, list[str]] = Field(default_factory=dict)
    limits: dict[str, float] = Field(default_factory=dict)


def read_brief(path: Path) -> Request:
    """A request from a TOML file.

    Raises DrawingError with one line per problem: file, line number, key, what to do.
    """
    text = _text_of(path)
    try:
        brief = Brief.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"(.*) \(at line (\d+), column \d+\)", str(error))
        what, line = found.groups() if found else (str(error), "end")
        raise DrawingError(f"{path.name}:{line}: not valid TOML: {what}") from None
    except ValidationError as error:
        lines = [
            _problem(path, text, e["loc"], e["type"], e["msg"])
            for e in error.errors()[:_MOST_PROBLEMS]
        ]
        raise DrawingError("\n".join(lines)) from None
    except (ValueError, RecursionError) as error:
        reason = "nested too deep" if isinstance(error, RecursionError) else str(error)
        raise DrawingError(f"{path.name}: not a brief: {plain(reason, 200)}") from None
    check_wishes(path, text, brief.pin, brief.ban)
    limits = changed_limits(path, text, brief.limits)
    asked = asked_of(path, text, brief.cover, brief.habits, brief.clear)
    here = path.parent
    shot = ShotOptions(
        brief.frames, brief.fps, brief.exposure, brief.seed, brief.budget,
        brief.title or path.stem, brief.ease,
        action=brief.action, reverse=brief.reverse, only=tuple(dict.fromkeys(brief.only)),
    )  # fmt: skip
    wishes = {
        piece: Wishes(brief.pin.get(piece), tuple(brief.ban.get(piece, ())))
        for piece in sorted({*brief.pin, *brief.ban})
    }
    return Request(
        here / brief.vehicle,
        here / brief.figure,
        here / brief.pieces if brief.pieces else None,
        brief.figure_height,
        wishes,
        shot,
        limits=limits,
        asked=asked,
        poses=tuple(read_pose(here / name) for name in brief.poses),
    )


def _text_of(path: Path) -> str:
    try:
        if path.exists() and not path.is_file():  # a pipe would keep us waiting
            raise DrawingError(f"{path}: is no plain file; name a brief")
        with path.open("rb") as file:
            content = file.read(_MOST_BYTES + 1)
        text = content.decode("utf-8-sig")
    except OSError as error:
        raise DrawingError(f"{path}: cannot read this brief: {error.strerror}") from None
    except UnicodeDecodeError:
        raise DrawingError(
            f"{path}: not a UTF-8 text file; save the brief as plain text"
        ) from None
    except ValueError:
        raise DrawingError(f"{str(path)!r}: no file can be called that") from None
    if len(content) > _MOST_BYTES:
        raise DrawingError(f"{path}: larger than 1 MiB; this is no brief")
    return text


def _problem(
    path: Path, text: str, where: tuple[int | str, ...], kind: str, message: str
) -> str:
    key = plain(".".join(str(part) for part in where), 60)
    line = line_of(text, [str(part) for part in where])
    place = f"{path.name}:{line}" if line else path.name
    if kind == "extra_forbidden":
        near = difflib.get_close_matches(key, Brief.model_fields, n=1)
        hint = (
            f"; did you mean {near[0]!r}?"
            if near
            else f"; known keys: {', '.join(Brief.model_fields)}"
        )
        return f"{place}: unknown key {key!r}{hint}"
    if kind == "missing":
        return f'{place}: the brief must say {key} = "..."'
    return f"{place}: {key}: {message}"
