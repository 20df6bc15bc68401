"""The vehicle drawing: from a file to pieces, cut to size, with a list to correct."""

from panelbeater.drawing.piece_list import apply_piece_list
from panelbeater.drawing.piece_rows import write_piece_list
from panelbeater.drawing.reading import read_drawing
from panelbeater.drawing.sizes import cut_to_size

__all__ = ["apply_piece_list", "cut_to_size", "read_drawing", "write_piece_list"]
