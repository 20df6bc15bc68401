"""The piece list: what was inferred about each piece, for the animator to correct."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from panelbeater.drawing.piece_rows import Problems, Row, meant, read_rows
from panelbeater.drawing.redrawing import redrawn_pieces
from panelbeater.terms.drawing import (
    KINDS,
    Allowance,
    Drawing,
    Kind,
    Piece,
    Redrawing,
    Wishes,
)
from panelbeater.terms.figure import BONE_IDS

_RANGES = {
    "scale_min": (0.05, 1.0),
    "scale_max": (1.0, 20.0),
    "dip_min": (0.05, 1.0),
    "stretch_max": (1.0, 10.0),
    "bend_max": (1.0, 10.0),
}


def apply_piece_list(drawing: Drawing, path: Path) -> Drawing:
    """The drawing with what the list at `path` says in place of what was inferred.

    Call it after `cut_to_size`. A row may name a part (`door.1`) or the whole (`door`, then
    it holds for every part); a row of its own wins. Empty cells keep what was inferred;
    `none` under `mirror` means no pair. A row for a part that this cut did not make is
    ignored with a warning.

    Raises DrawingError with one line for every problem in the list.
    """
    problems = Problems(path.name)
    by_id = {piece.id: piece for piece in drawing.pieces}
    parts_of: dict[str, list[str]] = {}
    for piece in drawing.pieces:
        if piece.cut_from is not None:
            parts_of.setdefault(piece.cut_from, []).append(piece.id)
    rows, ignored = _known_rows(read_rows(path), by_id, parts_of, problems)
    mirrors: dict[str, tuple[str | None, Row]] = {}
    # Rows for a whole come first, so that rows for its parts win.
    for row in sorted(rows, key=lambda row: (row.piece in by_id, row.line)):
        targets = [row.piece] if row.piece in by_id else parts_of[row.piece]
        seen = len(problems.lines)
        for name in targets:
            by_id[name] = _changed(by_id[name], row, problems)
            del problems.lines[seen + _n_own(problems, seen, row) :]
        if row.piece in by_id and "mirror" in row.cells:
            _note_mirror(row, by_id, parts_of, mirrors, problems)
    by_id = _with_mirrors(by_id, mirrors, problems)
    again = {row.piece: row for row in rows if "redrawn" in row.cells}
    again = {name: row for name, row in again.items() if name in by_id}
    redrawn, defs = redrawn_pieces(by_id, again, path.parent, problems)
    by_id = {name: _redrawn(piece, redrawn.get(name)) for name, piece in by_id.items()}
    problems.raise_any()
    return replace(
        drawing,
        pieces=tuple(by_id[piece.id] for piece in drawing.pieces),
        defs=drawing.defs + defs,
        warnings=(*drawing.warnings, *(f"{path.name}: {text}" for text in ignored)),
    )


def _redrawn(piece: Piece, redrawn: Redrawing | None) -> Piece:
    return piece if redrawn is None else replace(piece, redrawn=redrawn)


def _n_own(problems: Problems, seen: int, row: Row) -> int:
    """How many different problems this row has: parts of one whole repeat them."""
    found = problems.lines[seen:]
    return len(dict.fromkeys(text for line, text in found if line == row.line))


def _known_rows(
    rows: list[Row],
    by_id: dict[str, Piece],
    parts_of: dict[str, list[str]],
    problems: Problems,
) -> tuple[list[Row], list[str]]:
    known: list[Row] = []
    ignored: list[str] = []
    first: dict[str, int] = {}
    for row in rows:
        if not row.piece:
            problems.add(row, "no piece is named; fill the first column or delete the line")
        elif row.piece in first:
            problems.add(
                row, f"is listed twice, first on line {first[row.piece]}; keep one"
            )
        elif row.piece in by_id or row.piece in parts_of:
            known.append(row)
        elif _is_part(row.piece, by_id, parts_of):
            ignored.append(f"line {row.line}: {row.piece}: no such part this time; ignored")
        else:
            names = [*by_id, *parts_of]
            problems.add(row, f"no piece '{row.piece}'{meant(row.piece, names)}")
        first.setdefault(row.piece, row.line)
    return known, ignored


def _is_part(name: str, by_id: dict[str, Piece], parts_of: dict[str, list[str]]) -> bool:
    whole, dot, number = name.rpartition(".")
    return bool(dot) and number.isdigit() and (whole in by_id or whole in parts_of)


def _changed(piece: Piece, row: Row, problems: Problems) -> Piece:
    kind: Kind = piece.kind
    if "kind" in row.cells:
        word = row.cells["kind"].lower()
        match = next((known for known in KINDS if known == word), None)
        if match is None:
            problems.add(row, f"no kind '{row.cells['kind']}'{meant(word, KINDS)}")
        kind = match or kind
    _yes_no(row, "cut", otherwise=True, problems=problems)
    return replace(
        piece,
        kind=kind,
        signature=_yes_no(row, "signature", otherwise=piece.signature, problems=problems),
        wishes=_wishes(piece.wishes, row, problems),
        allowance=_allowance(piece.allowance, row, problems),
    )


def _yes_no(row: Row, column: str, *, otherwise: bool, problems: Problems) -> bool:
    word = row.cells.get(column, "").lower()
    if word not in ("", "yes", "no"):
        problems.add(row, f"{column} is '{row.cells[column]}'; write yes or no")
    return {"yes": True, "no": False}.get(word, otherwise)


def _wishes(wishes: Wishes, row: Row, problems: Problems) -> Wishes:
    pin = row.cells.get("pin", wishes.pin)
    bans = tuple(row.cells["ban"].split()) if "ban" in row.cells else wishes.bans
    for column, words in (("pin", (pin,) if pin else ()), ("ban", bans)):
        for word in words:
            if word not in BONE_IDS:
                problems.add(row, f"no region '{word}' for {column}{meant(word, BONE_IDS)}")
    if pin is not None and pin in bans:
        problems.add(row, f"pinned to {pin} and banned from it; delete one of the two")
    stow = _yes_no(row, "stow", otherwise=wishes.stow, problems=problems)
    if pin is not None and stow and "stow" in row.cells:
        problems.add(row, f"pinned to {pin} and may be stowed; delete one of the two")
    return Wishes(pin, bans, stow)


def _allowance(allowance: Allowance, row: Row, problems: Problems) -> Allowance:
    given: dict[str, float] = {}
    for column, (least, most) in _RANGES.items():
        if column not in row.cells:
            continue
        text = row.cells[column]
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not least <= value <= most:
            problems.add(
                row, f"{column} is '{text}'; write a number from {least:g} to {most:g}"
            )
            continue
        given[column] = value
    changed = replace(allowance, **given)
    if changed.dip_min > changed.scale_min:
        if "dip_min" in given:
            problems.add(
                row,
                f"dip_min {changed.dip_min:g} is above scale_min {changed.scale_min:g}; "
                "lower dip_min",
            )
        changed = replace(changed, dip_min=changed.scale_min)
    return changed


def _note_mirror(
    row: Row,
    by_id: dict[str, Piece],
    parts_of: dict[str, list[str]],
    mirrors: dict[str, tuple[str | None, Row]],
    problems: Problems,
) -> None:
    other = row.cells["mirror"]
    if other.lower() == "none":
        mirrors[row.piece] = (None, row)
    elif other == row.piece:
        problems.add(row, "is its own mirror; name the other piece, or write none")
    elif other in by_id:
        mirrors[row.piece] = (other, row)
    elif other not in parts_of and not _is_part(other, by_id, parts_of):
        problems.add(row, f"no piece '{other}' for mirror{meant(other, [*by_id])}")


def _with_mirrors(
    by_id: dict[str, Piece],
    mirrors: dict[str, tuple[str | None, Row]],
    problems: Problems,
) -> dict[str, Piece]:
    """Mirror pairs that hold both ways: listed ones first, then inferred ones."""
    partner: dict[str, str | None] = {}
    for name, (other, row) in mirrors.items():
        back = mirrors.get(other, (name, row))[0] if other else None
        claimed = partner.get(other) if other else None
        if other and (back != name or claimed not in (None, name)):
            said = claimed if back == name else back
            problems.add(
                row,
                f"mirror is '{other}', but '{other}' answers "
                f"'{said or 'none'}'; let both rows agree",
            )
            continue
        partner[name] = other
        if other:
            partner[other] = name
    for name, piece in by_id.items():
        if name not in partner:
            free = piece.mirror is not None and partner.get(piece.mirror, name) == name
            partner[name] = piece.mirror if free else None
    return {name: replace(piece, mirror=partner[name]) for name, piece in by_id.items()}
