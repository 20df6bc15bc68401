"""Tell names an animator gave from names a drawing program made up, and make piece ids."""

from __future__ import annotations

import re

from panelbeater.terms.drawing import Kind

_MADE_UP = re.compile(
    r"""^_*(?:
        g|path|rect|rectangle|circle|ellipse|oval|polygon|polyline|line|use|svg|svgrepo.*|
        layer|ebene|calque|capa|livello|lager|group[es]?|grupp[eo]|grupo|shape|form|forma|
        vector|object|objects|symbol|clip|clip[ _-]?path|mask|compound|image|img|
        frame[ _-]?\d+|artboard|page|icon|icons|xmlid|union|subtract|intersect|
        exclude|fill|stroke|combined|path[ _-]?combined|mask[ _-]?group|
        root|main|content|drawing|isolation[ _-]mode|
        (?=[0-9a-f]*\d)[0-9a-f]{6,}|[a-z]{1,2}
    )?[\s_.-]*(?:x3[ce]_?)*(?:\d+[\s_.-]*)*(?:copy|kopie)?[\s_.-]*\d*_*$""",
    re.IGNORECASE | re.VERBOSE,
)


def is_given(name: str) -> bool:
    """True when `name` says something, unlike g12, path34, layer1 or Rectangle 7."""
    return bool(name.strip()) and _MADE_UP.match(name.strip()) is None


def plain_id(name: str) -> str:
    """`name` with only letters, digits, dot, dash and underscore; may be empty."""
    text = re.sub(r"_x([0-9A-Fa-f]{2})_", lambda found: chr(int(found[1], 16)), name)
    text = re.sub(r"[^A-Za-z0-9_-]+", "_", text).strip("_")
    return text[:60]


_FIRST_WORD: dict[Kind, str] = {"other": "detail"}


def piece_ids(
    names: list[str], kinds: list[Kind], places: list[tuple[float, float]]
) -> list[str]:
    """A unique id for every piece: its given name, else kind and number from left to right.

    `places` are centroids (x, y) in drawing units.
    """
    ids = [plain_id(name) if is_given(name) else "" for name in names]
    taken: set[str] = set()
    for k, wish in enumerate(ids):
        ids[k] = _fresh(wish, taken) if wish else ""
    order = sorted(range(len(names)), key=lambda k: (kinds[k], places[k], k))
    counts: dict[str, int] = {}
    for k in order:
        if ids[k]:
            continue
        word = _FIRST_WORD.get(kinds[k], kinds[k])
        while True:
            counts[word] = counts.get(word, 0) + 1
            if f"{word}_{counts[word]}" not in taken:
                break
        ids[k] = _fresh(f"{word}_{counts[word]}", taken)
    return ids


def _fresh(wish: str, taken: set[str]) -> str:
    name, k = wish, 2
    while name in taken:
        name, k = f"{wish}_{k}", k + 1
    taken.add(name)
    return name
