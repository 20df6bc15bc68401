"""Hostile and broken drawings, each made on the spot from a few lines."""

from __future__ import annotations

import gzip
import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from tests.hostile.good import SVG, VEHICLE, sheet

BOX = '<rect x="10" y="10" width="80" height="60"/>'
BOXES = BOX + '<circle cx="30" cy="80" r="10"/><circle cx="70" cy="80" r="10"/>'
REFUSED = "refused"
"""One plain line, and nothing is read."""
TOLD = "told"
"""Read all the same, and a warning says what was done."""
READ = "read"
"""Nothing is wrong with it: it must load."""


@dataclass(frozen=True, slots=True)
class Hostile:
    """One file, what must become of it, and a word of what must be said."""

    name: str
    make: Callable[[], str | bytes]
    outcome: str
    says: str = ""

    def content(self) -> bytes:
        made = self.make()
        return made if isinstance(made, bytes) else made.encode()


Files: TypeAlias = tuple[Hostile, ...]


def _of(name: str, body: str, outcome: str, says: str = "") -> Hostile:
    return Hostile(name, lambda: sheet(body), outcome, says)


def _scribble(n_corners: int, *, seed: int = 1) -> str:
    points = np.random.default_rng(seed).uniform(0, 100, (n_corners, 2))
    return "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in points) + "Z"


def _star(n_corners: int) -> str:
    """Crosses itself about n squared times."""
    turn = 2 * np.pi * (n_corners // 2) / n_corners * np.arange(n_corners)
    points = 50 + 40 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return "M" + "L".join(f"{x:.6f} {y:.6f}" for x, y in points) + "Z"


def _bomb(levels: int) -> str:
    names = [f"e{k}" for k in range(levels)]
    lines = [f'<!ENTITY {names[0]} "ha">'] + [
        f'<!ENTITY {name} "{f"&{before};" * 10}">'
        for before, name in itertools.pairwise(names)
    ]
    return f"<!DOCTYPE svg [{''.join(lines)}]>{SVG}><text>&{names[-1]};</text></svg>"


def _quadratic() -> str:
    entity = f'<!DOCTYPE svg [<!ENTITY a "{"a" * 9000}">]>'
    return f"{entity}{SVG}><desc>{'&a;' * 200_000}</desc>{BOX}</svg>"


def _attribute_bomb() -> str:
    entity = f'<!DOCTYPE svg [<!ENTITY a "{"1 " * 4500}">]>'
    return f'{entity}{SVG}><path d="M0 0L{"&a;" * 5000}"/></svg>'


def _outside(entity: str) -> str:
    return f"<!DOCTYPE svg [{entity}]>{SVG}><text>&x;</text>{BOX}</svg>"


def _grid_of(n: int) -> str:
    side = int(n**0.5)
    return "".join(
        f'<rect x="{100 * (k % side) / side:.3f}" y="{100 * (k // side) / side:.3f}" '
        f'width="{50 / side:.3f}" height="{50 / side:.3f}"/>'
        for k in range(n)
    )


MARKUP: Files = (
    Hostile("empty", lambda: b"", REFUSED, "empty"),
    Hostile("blank", lambda: b" \n\n", REFUSED, "empty"),
    Hostile("cut-short", lambda: VEHICLE[: len(VEHICLE) // 2], REFUSED, "cut short"),
    Hostile("null-bytes", lambda: b"\0" * 4096, REFUSED, "broken"),
    Hostile("noise", lambda: np.random.default_rng(1).bytes(50_000), REFUSED, "broken"),
    Hostile("a-picture", lambda: b"\x89PNG\r\n\x1a\n" + b"\0" * 64, REFUSED, "broken"),
    Hostile("compressed", lambda: gzip.compress(VEHICLE.encode()), REFUSED, "compressed"),
    Hostile("a-page", lambda: "<html><body/></html>", REFUSED, "not an SVG"),
    Hostile("utf-16", lambda: VEHICLE.encode("utf-16"), READ),
    Hostile("byte-order-mark", lambda: b"\xef\xbb\xbf" + VEHICLE.encode(), READ),
    Hostile(
        "wrong-encoding",
        lambda: f"{SVG}><desc>\xe9</desc>{BOX}</svg>".encode("latin-1"),
        REFUSED,
        "broken",
    ),
    Hostile(
        "unknown-encoding",
        lambda: f'<?xml version="1.0" encoding="klingon"?>{VEHICLE}',
        REFUSED,
        "encoding",
    ),
    Hostile("entity-bomb", lambda: _bomb(9), REFUSED, "entity"),
    Hostile("entity-repeated", _quadratic, REFUSED),
    Hostile("entity-in-attribute", _attribute_bomb, REFUSED),
    Hostile(
        "external-entity",
        lambda: _outside('<!ENTITY x SYSTEM "file:///etc/hostname">'),
        REFUSED,
        "outside the file",
    ),
    Hostile(
        "external-parameter-entity",
        lambda: _outside('<!ENTITY % y SYSTEM "http://127.0.0.1:9/x.dtd"> %y;'),
        REFUSED,
        "outside the file",
    ),
    Hostile(
        "external-dtd",
        lambda: f'<!DOCTYPE svg SYSTEM "http://127.0.0.1:9/x.dtd">{VEHICLE}',
        READ,
    ),
    Hostile(
        "editor-entities",
        lambda: (
            '<!DOCTYPE svg [<!ENTITY ns_svg "http://www.w3.org/2000/svg">]>'
            f'<svg xmlns="&ns_svg;" viewBox="0 0 100 100">{BOXES}</svg>'
        ),
        READ,
    ),
    Hostile(
        "undeclared-prefix",
        lambda: sheet(f'<g inkscape:label="x">{BOXES}</g>'),
        TOLD,
        "prefix",
    ),
    _of("deep-groups", "<g>" * 200_000 + BOX + "</g>" * 200_000, REFUSED, "deeper"),
    _of("groups-at-the-limit", "<g>" * 250 + BOXES + "</g>" * 250, READ),
    _of("many-elements", "<g/>" * 200_000, REFUSED, "elements"),
    _of("many-shapes", _grid_of(60_000), REFUSED, "shapes"),
    _of("long-path", "<path d='M0 0" + "L1 2 3 4" * 2_500_000 + "'/>", REFUSED, "simplify"),
    _of("long-attribute", f"<rect id='{'x' * 11_000_000}' width='5' height='5'/>", REFUSED),
    _of("long-id", f"<g id='{'x' * 100_000}'>{BOX}</g>", READ),
    _of("line-break-in-id", "<rect id='a&#10;b' width='nan' height='5'/>", REFUSED, "nan"),
)
NUMBERS: Files = (
    _of("nan", '<path d="M0 0L nan 5 9 9z"/>', REFUSED, "nan"),
    _of("infinite", '<circle cx="inf" cy="5" r="5"/>', REFUSED, "not a length"),
    _of("far-away", '<rect x="2e9" width="5" height="5"/>', REFUSED, "1e6"),
    _of("long-number", f'<rect x="{"9" * 5000}" width="5" height="5"/>', REFUSED, "length"),
    _of("long-fraction", f'<rect x="0.{"9" * 300_000}x" width="5" height="5"/>', REFUSED),
    _of("scaled-away", '<g transform="scale(1e6)">' * 60 + BOX + "</g>" * 60, REFUSED),
    _of("scaled-to-nothing", f'<g transform="scale(1e-6)">{BOX}</g>', READ),
    _of("flattened", f'<g transform="scale(1 0)">{BOX}</g>', REFUSED, "visible"),
    _of("no-transform", f'<g transform="spin(4)">{BOX}</g>', REFUSED, "spin"),
    _of("blank-origin", f'<g transform-origin="" transform="scale(1)">{BOXES}</g>', READ),
    _of("blanks", "<path d='M0 0H50V50" + " " * 500_000 + "x'/>", TOLD, "mistake"),
    _of("blank-length", f"<rect x='1{' ' * 400_000}y' width='5' height='5'/>", REFUSED),
    _of("letters-for-transform", f'<g transform="{"a" * 400_000}">{BOX}</g>', READ),
    Hostile(
        "huge-page", lambda: f'{SVG} viewBox="0 0 1e9 1e9">{BOX}</svg>', REFUSED, "1e6"
    ),
    Hostile(
        "tiny-page",
        lambda: f'{SVG} viewBox="0 0 1e-320 1e-320"><path d="M0 0h1e-300v1e-300z"/></svg>',
        REFUSED,
    ),
    Hostile("thin-page", lambda: f'{SVG} viewBox="0 0 1e6 1e-3">{BOX}</svg>', READ),
    Hostile("page-of-words", lambda: f'{SVG} viewBox="a b c d">{BOX}</svg>', REFUSED),
    Hostile(
        "page-of-marks",
        lambda: f'{SVG} viewBox="\ufeff0 0\n100 100\u200b">{BOX}</svg>',
        REFUSED,
        "no number",
    ),
    _of("mark-in-id", "<rect id='a\u200bb' width='nan' height='5'/>", REFUSED, "nan"),
    _of("hair-pen", '<path d="M0 0L90 90" stroke="red" stroke-width="1e-300"/>', REFUSED),
    _of(
        "broad-pen",
        '<path d="M0 0L9 9" stroke="red" stroke-width="1e6" stroke-linejoin="round"/>',
        TOLD,
        "second renderer",
    ),
    _of(
        "dashes-without-end",
        '<path d="M0 0L90 90" fill="none" stroke="red" stroke-width="5" '
        'stroke-dasharray="1e-9"/>',
        TOLD,
        "second renderer",
    ),
)
SHAPES: Files = (
    _of("scribble", f'<path d="{_scribble(3000)}"/>', REFUSED, "crosses itself"),
    _of("small-scribble", f'<path d="{_scribble(60)}"/>', READ),
    _of("star", f'<path d="{_star(3001)}"/>', REFUSED, "crosses itself"),
    _of(
        "scribble-stroked",
        f'<path fill="none" stroke="red" d="{_scribble(3000)}"/>',
        REFUSED,
        "crosses itself",
    ),
    _of(
        "scribbles-clipped",
        f'<clipPath id="c"><path d="{_scribble(3000)}"/></clipPath>'
        f'<g clip-path="url(#c)">{BOX}</g>',
        REFUSED,
        "crosses itself",
    ),
    _of("zero-area", '<path d="M0 0L9 9L0 0z"/><rect width="0" height="5"/>', REFUSED),
    _of("twice-the-same", BOX * 2, TOLD, "hidden under others"),
    _of("sixty-alike", BOXES * 60, TOLD, "hidden under others"),
    _of(
        "same-ids", '<g id="a">' + BOX + '</g><circle id="a" cx="20" cy="80" r="9"/>', READ
    ),
    _of("no-ids", BOXES, READ),
    _of("copy-of-itself", '<g id="a"><use href="#a"/></g>', REFUSED, "copy of itself"),
    _of(
        "copies-in-a-ring",
        '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>',
        REFUSED,
        "copy of itself",
    ),
    _of(
        "copies-of-copies",
        "<defs>"
        + BOX.replace("<rect", '<rect id="a0"')
        + "".join(
            f'<g id="a{k}">' + f'<use href="#a{k - 1}"/>' * 10 + "</g>" for k in range(1, 9)
        )
        + '</defs><use href="#a8"/>',
        REFUSED,
        "never end",
    ),
    _of("copy-of-nothing", BOXES + '<use href="#nobody"/>', TOLD, "points to nothing"),
    _of("copy-from-elsewhere", BOXES + '<use href="/etc/hostname#a"/>', TOLD, "nothing"),
    _of(
        "gradients-in-a-ring",
        '<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/>'
        + BOXES.replace("/>", ' fill="url(#a) red"/>'),
        REFUSED,
        "visible",
    ),
    _of("mask", f'<mask id="m">{BOX}</mask><g mask="url(#m)">{BOXES}</g>', TOLD, "mask"),
    _of("filter", f'<g filter="url(#f)">{BOXES}</g>', TOLD, "filter"),
    _of("picture", f'<image href="file:///etc/hostname"/>{BOXES}', TOLD, "image"),
    _of("text", f"<text>wheel</text>{BOXES}", TOLD, "outlines"),
    _of("only-text", "<text>wheel</text>", REFUSED, "outlines"),
    _of("script", f"<script>alert(1)</script>{BOXES}", READ),
    _of(
        "style-fetches",
        f'<style>@import "http://127.0.0.1:9/x.css"; rect {{fill: red}}</style>{BOXES}',
        READ,
    ),
    _of("style-without-braces", f"<style>{'a' * 400_000}</style>{BOXES}", READ),
    _of("style-of-comments", f"<style>{'/*' * 300_000}</style>{BOXES}", READ),
    _of(
        "style-of-many-rules",
        "<style>"
        + "".join(f".a{k} g .b{{fill:red}}" for k in range(20_000))
        + "</style>"
        + '<g class="b">' * 200
        + _grid_of(2000)
        + "</g>" * 200,
        REFUSED,
        "style",
    ),
    _of("colour-of-digits", BOX.replace("/>", f' fill="hsl({"9" * 60},50%,50%)"/>'), READ),
    _of("colour-endless", BOX.replace("/>", ' fill="hsl(1,1%,1e999%)"/>'), TOLD, "grey"),
)
DRAWINGS: Files = (*MARKUP, *NUMBERS, *SHAPES)
