"""The exposure sheet on paper: a row a frame, a column a piece, room for pencil notes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from panelbeater.exports.pdf import (
    EDGE_MM,
    INK,
    PAGE_MM,
    QUIET,
    RULE,
    finish,
    foot,
    head,
    new_sheet,
    say,
)
from panelbeater.exports.sheet import HELD, KEY_MARK, exposures, order_changes
from panelbeater.exports.words import actions, facts, time_code
from panelbeater.terms.rig import Rig, Sample

if TYPE_CHECKING:
    from fpdf import FPDF

ROWS, ROW_MM = 72, 3.15
"""Three seconds of film a page."""
FRAME_MM, TIME_MM, ACTION_MM, PIECE_MM = 8.0, 9.0, 45.0, 8.0
COLUMNS = int((PAGE_MM[0] - 2 * EDGE_MM - FRAME_MM - TIME_MM - ACTION_MM) // PIECE_MM)
TOP_MM = 52.0
"""Where the first row begins; names stand upright above it."""
LEFT_MM = EDGE_MM + FRAME_MM + TIME_MM + ACTION_MM
TINT = (240, 238, 230)
BY_HAND = "scene ............    shot ............    by ......................"
LEGEND = (
    "A number is a new drawing, a box round it a key; a line down is a drawing held. "
    "Columns go from far to near."
)


def export_exposure_pdf(rig: Rig, sample: Sample, path: Path, *, caution: str = "") -> None:
    """Write the sheet as A4 pages, 72 frames and sixteen pieces to a page.

    The cells are those of exposure-sheet.csv. `sample` holds one moment per frame. Raises
    DrawingError when the print extra is not installed.
    """
    sheet = new_sheet(rig, path, "Exposure sheet")
    columns = list(exposures(rig, sample).items())
    action = _changes(rig, actions(rig, sample))
    groups = [columns[k : k + COLUMNS] for k in range(0, len(columns), COLUMNS)]
    spans = [
        range(start, min(start + ROWS, rig.shot.n_frames))
        for start in range(0, rig.shot.n_frames, ROWS)
    ]
    n_pages = len(groups) * len(spans)
    for span in spans:
        for group in groups:
            sheet.add_page()
            page = f"page {sheet.page_no()} of {n_pages}"
            held = "" if rig.shot.exposure == 1 else f", held {rig.shot.exposure}"
            head(sheet, rig, f"{facts(rig)}{held}    {page}")
            say(sheet, BY_HAND, 130, EDGE_MM + 5.5, size=8, colour=QUIET, width=70)
            _names(sheet, [name for name, _ in group])
            _grid(sheet, rig, span, len(group))
            _left(sheet, rig, span, action)
            for k, (_, cells) in enumerate(group):
                _column(sheet, LEFT_MM + k * PIECE_MM, span, cells)
            foot(sheet, LEGEND, caution)
    finish(sheet, path)


def _changes(rig: Rig, action: list[str]) -> list[str]:
    """What happens, said once where it begins, and changes of the draw order."""
    words = []
    for frame, text in enumerate(action):
        now = [] if frame and text == action[frame - 1] else [text]
        order = order_changes(rig, frame) if frame else ""
        words.append("; ".join([*now, *([f"order: {order}"] if order else [])]))
    return words


def _names(sheet: FPDF, names: list[str]) -> None:
    for k, word in enumerate(("frame", "time", "action")):
        x = EDGE_MM + (0, FRAME_MM, FRAME_MM + TIME_MM)[k]
        say(sheet, word, x + 1, TOP_MM - 1.5, size=6.5, colour=QUIET)
    for k, name in enumerate(names):
        x = LEFT_MM + (k + 0.5) * PIECE_MM
        with sheet.rotation(90, x + 0.8, TOP_MM - 1.5):
            say(sheet, name, x + 0.8, TOP_MM - 1.5, size=6.5, width=27)


def _grid(sheet: FPDF, rig: Rig, span: range, n_columns: int) -> None:
    """Every other half second tinted, seconds ruled heavily."""
    right = LEFT_MM + n_columns * PIECE_MM
    bottom = TOP_MM + len(span) * ROW_MM
    half = max(rig.shot.fps // 2, 1)
    sheet.set_fill_color(*TINT)
    for row, frame in enumerate(span):
        if frame // half % 2:
            sheet.rect(EDGE_MM, TOP_MM + row * ROW_MM, right - EDGE_MM, ROW_MM, style="F")
    for row in range(len(span) + 1):
        is_second = (span.start + row) % rig.shot.fps == 0 or row in (0, len(span))
        sheet.set_draw_color(*(INK if is_second else RULE))
        sheet.set_line_width(0.35 if is_second else 0.08)
        y = TOP_MM + row * ROW_MM
        sheet.line(EDGE_MM, y, right, y)
    edges = [EDGE_MM, EDGE_MM + FRAME_MM, EDGE_MM + FRAME_MM + TIME_MM]
    edges += [LEFT_MM + k * PIECE_MM for k in range(n_columns + 1)]
    for x in edges:
        is_outer = x in (EDGE_MM, LEFT_MM, edges[-1])
        sheet.set_draw_color(*(INK if is_outer else RULE))
        sheet.set_line_width(0.35 if is_outer else 0.08)
        sheet.line(x, TOP_MM, x, bottom)


def _left(sheet: FPDF, rig: Rig, span: range, action: list[str]) -> None:
    for row, frame in enumerate(span):
        y = TOP_MM + (row + 0.75) * ROW_MM
        x = EDGE_MM + FRAME_MM
        _centred(sheet, str(frame + 1), EDGE_MM + FRAME_MM / 2, y)
        _centred(sheet, time_code(frame, rig.shot.fps), x + TIME_MM / 2, y)
        say(sheet, action[frame], x + TIME_MM + 1, y, size=5.5, width=ACTION_MM - 2)


def _column(sheet: FPDF, x: float, span: range, cells: list[str]) -> None:
    """Numbers, keys in a box, holds as a line down the middle."""
    middle = x + PIECE_MM / 2
    sheet.set_draw_color(*INK)
    sheet.set_line_width(0.15)
    for row, frame in enumerate(span):
        y, cell = TOP_MM + row * ROW_MM, cells[frame]
        if cell == HELD:
            sheet.line(middle, y, middle, y + ROW_MM)
            continue
        _centred(sheet, cell.removesuffix(KEY_MARK), middle, y + 0.75 * ROW_MM)
        if cell.endswith(KEY_MARK):
            sheet.rect(middle - 2.6, y + 0.3, 5.2, ROW_MM - 0.6)


def _centred(sheet: FPDF, text: str, x: float, y: float) -> None:
    sheet.set_font(size=6)
    say(sheet, text, x - sheet.get_string_width(text) / 2, y, size=6)
