"""Figure in: silhouette, fitted or drawn bones, and the region each bone carries."""

from panelbeater.figure.placing import place_figure
from panelbeater.figure.reading import read_figure

__all__ = ["place_figure", "read_figure"]
