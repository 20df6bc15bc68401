"""The table behind a piece list: its columns, its lines, and what can be wrong."""

from __future__ import annotations

import csv
import difflib
import io
import os
from dataclasses import dataclass
from pathlib import Path

from panelbeater.errors import DrawingError, plain
from panelbeater.terms.drawing import KINDS, Drawing, Kind, Redrawing

COLUMNS = (
    "piece", "kind", "signature", "mirror", "pin", "ban",
    "scale_min", "scale_max", "dip_min", "stretch_max", "cut", "stow", "bend_max",
    "redrawn",
)  # fmt: skip
_MOST_BYTES = 2**20


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the list; empty cells are left out of `cells`."""

    line: int
    piece: str
    cells: dict[str, str]


class Problems:
    """Everything wrong with one list, told at once."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.lines: list[tuple[int, str]] = []

    def add(self, row: Row, text: str) -> None:
        """Note one problem of one row."""
        line = f"{self.name}: line {row.line}: {plain(row.piece)}: {plain(text, 400)}"
        self.lines.append((row.line, line))

    def raise_any(self) -> None:
        """Raise DrawingError with all problems, if there are any."""
        if self.lines:
            raise DrawingError("\n".join(text for _, text in sorted(self.lines)))


def write_piece_list(drawing: Drawing, path: Path) -> None:
    """Write one row a piece, far to near; `apply_piece_list` reads it back unchanged."""
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(COLUMNS)
    for piece in drawing.pieces:
        allowed = piece.allowance
        table.writerow([
            piece.id,
            piece.kind,
            "yes" if piece.signature else "no",
            piece.mirror or "none",
            piece.wishes.pin or "",
            " ".join(piece.wishes.bans),
            f"{allowed.scale_min:.12g}",
            f"{allowed.scale_max:.12g}",
            f"{allowed.dip_min:.12g}",
            f"{allowed.stretch_max:.12g}",
            "no" if piece.kind in ("wheel", "lamp") or piece.redrawn else "yes",
            "yes" if piece.wishes.stow else "no",
            f"{allowed.bend_max:.12g}",
            _path_from(path, piece.redrawn),
        ])  # fmt: skip
    # A neighbour first, then swapped in: a broken run never leaves half a list.
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_text(text.getvalue(), encoding="utf-8")
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)


def _path_from(listed: Path, redrawn: Redrawing | None) -> str:
    """Where the second drawing lies, seen from the list."""
    if redrawn is None or not redrawn.source:
        return ""
    return Path(os.path.relpath(redrawn.source, listed.parent.resolve())).as_posix()


def read_rows(path: Path) -> list[Row]:
    """All lines under the header; raises DrawingError when the table itself is broken."""
    try:
        if path.exists() and not path.is_file():  # a pipe would keep us waiting
            raise DrawingError(f"{path.name}: is no plain file; name a piece list")
        with path.open("rb") as file:
            content = file.read(_MOST_BYTES + 1)
    except OSError as error:
        raise DrawingError(f"{path.name}: cannot be opened ({error.strerror})") from error
    except ValueError as error:
        raise DrawingError(f"{path.name!r}: no file can be called that") from error
    if len(content) > _MOST_BYTES:
        raise DrawingError(f"{path.name}: larger than 1 MiB; this is no piece list")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise DrawingError(
            f"{path.name}: is not UTF-8 text; save the table as UTF-8"
        ) from error
    first = text.partition("\n")[0]
    table = csv.reader(
        io.StringIO(text, newline=""), delimiter=";" if ";" in first else ",", strict=True
    )
    try:
        lines = [(table.line_num, cells) for cells in table]
    except csv.Error as error:
        raise DrawingError(f"{path.name}: line {table.line_num}: {error}") from error
    return _named_rows(path.name, [(n, cells) for n, cells in lines if any(cells)])


def _named_rows(name: str, lines: list[tuple[int, list[str]]]) -> list[Row]:
    header = [cell.strip().lower() for cell in lines[0][1]] if lines else []
    if "piece" not in header:
        raise DrawingError(
            f"{name}: line 1: the first line must name the columns: {','.join(COLUMNS)}"
        )
    unknown = [cell for cell in header if cell not in COLUMNS]
    if unknown:
        raise DrawingError(
            f"{name}: line 1: no column '{plain(unknown[0])}'{meant(unknown[0], COLUMNS)}"
        )
    twice = [cell for at, cell in enumerate(header) if cell in header[:at]]
    if twice:
        raise DrawingError(f"{name}: line 1: column '{twice[0]}' is there twice; keep one")
    rows = []
    for number, cells in lines[1:]:
        if any(cell.strip() for cell in cells[len(header) :]):
            raise DrawingError(
                f"{name}: line {number}: {len(cells)} cells under {len(header)} columns; "
                "put words with a comma between quotes"
            )
        found = {
            column: cell.strip()
            for column, cell in zip(header, cells, strict=False)
            if cell.strip()
        }
        rows.append(Row(number, found.pop("piece", ""), found))
    return rows


def meant(word: str, known: tuple[str, ...] | list[str]) -> str:
    """What to say after an unknown word: the nearest known one, else all of them."""
    close = difflib.get_close_matches(plain(word), known, n=1, cutoff=0.5)
    return f"; did you mean '{close[0]}'?" if close else f"; there are {', '.join(known)}"


def listed_kinds(path: Path) -> dict[str, Kind]:
    """The kinds that rows name, by piece; other cells are checked by `apply_piece_list`."""
    by_word: dict[str, Kind] = {kind: kind for kind in KINDS}
    found = {
        row.piece: by_word.get(row.cells.get("kind", "").lower()) for row in read_rows(path)
    }
    return {piece: kind for piece, kind in found.items() if kind is not None}


def uncut_names(path: Path) -> frozenset[str]:
    """Pieces whose row says `no` under `cut`, or names a second drawing of the whole."""
    return frozenset(
        row.piece
        for row in read_rows(path)
        if row.cells.get("cut", "").lower() == "no" or "redrawn" in row.cells
    )
