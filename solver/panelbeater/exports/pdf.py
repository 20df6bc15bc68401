"""What the printed sheets share: the page, its title line and its foot."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from panelbeater.errors import DrawingError
from panelbeater.exports.files import write_whole
from panelbeater.terms.rig import Rig

if TYPE_CHECKING:
    from fpdf import FPDF

PAGE_MM = (210.0, 297.0)
EDGE_MM = 10.0
INK, QUIET, RULE = (34, 40, 45), (96, 96, 90), (150, 146, 136)
FACE = "Helvetica"


def new_sheet(rig: Rig, path: Path, subject: str) -> FPDF:
    """An upright A4 document with a title. Raises DrawingError without the print extra."""
    try:
        from fpdf import FPDF
    except ImportError:
        raise DrawingError(
            f"{path.name}: printed sheets need a writer; pip install 'panelbeater[print]'"
        ) from None
    sheet = FPDF(format="A4", unit="mm")
    # Same plan, same bytes: the date is no fact about the shot.
    sheet.set_creation_date(datetime(2000, 1, 1, tzinfo=UTC))
    sheet.set_title(rig.shot.title)
    sheet.set_subject(subject)
    sheet.set_creator("panelbeater")
    sheet.set_lang("en")
    sheet.set_auto_page_break(auto=False)
    return sheet


def head(sheet: FPDF, rig: Rig, facts: str) -> None:
    """Title on the left of the top line, facts under it."""
    say(sheet, rig.shot.title, EDGE_MM, EDGE_MM + 5.5, size=15)
    say(sheet, facts, EDGE_MM, EDGE_MM + 11, size=8, colour=QUIET)


def foot(sheet: FPDF, words: str, caution: str) -> None:
    """One line of explanation and, where there is one, the caution."""
    bottom = PAGE_MM[1] - EDGE_MM
    say(sheet, words, EDGE_MM, bottom - (3.5 if caution else 0), size=6.5, colour=QUIET)
    say(sheet, caution, EDGE_MM, bottom, size=6.5, colour=INK)


def say(
    sheet: FPDF,
    text: str,
    x: float,
    y: float,
    *,
    size: float,
    colour: tuple[int, int, int] = INK,
    width: float = PAGE_MM[0] - 2 * EDGE_MM,
) -> None:
    """Text on a base line, mm from the top left; cut to `width`.

    The face built into every reader has western letters only; others become question marks.
    """
    words = text.encode("cp1252", "replace").decode("cp1252")
    sheet.set_font(FACE, size=size)
    sheet.set_text_color(*colour)
    if sheet.get_string_width(words) > width:
        while words and sheet.get_string_width(words + "...") > width:
            words = words[:-1]
        words = words.rstrip() + "..."
    sheet.text(x, y, words)


def finish(sheet: FPDF, path: Path) -> None:
    """Put the document in its place."""
    write_whole(path, [bytes(sheet.output())])
