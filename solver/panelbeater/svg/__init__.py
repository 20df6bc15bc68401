"""Vector drawings as shapes: the floor under the drawing and the figure."""

from panelbeater.svg.check import silhouette_match
from panelbeater.svg.nouns import Line, SvgDrawing, SvgGroup, SvgShape
from panelbeater.svg.outlines import areas_of, path_area, settled, united
from panelbeater.svg.reading import read_svg

__all__ = [
    "Line",
    "SvgDrawing",
    "SvgGroup",
    "SvgShape",
    "areas_of",
    "path_area",
    "read_svg",
    "settled",
    "silhouette_match",
    "united",
]
