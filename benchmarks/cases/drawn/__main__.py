"""Draws the benchmark drawings again.

    python -m benchmarks.cases.drawn

Writes vehicles/*.svg and figures/*.svg beside this folder. Look at what you drew.
"""

from __future__ import annotations

import sys
from pathlib import Path

from benchmarks.cases.drawn import drawings

HOME = Path(__file__).parents[1]


def main() -> int:
    """Draw all, and say how large each is."""
    for place, text in drawings().items():
        path = HOME / place
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
        print(f"{place}: {len(text)} bytes")
    return 0


if __name__ == "__main__":
    sys.exit(main())
