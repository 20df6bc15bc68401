"""The command line with its notes said aloud: a test can interrupt it at a known spot."""

from __future__ import annotations

import sys
from typing import Any

from rich.status import Status

from panelbeater.cli import main


def _say(_status: Status, text: Any, **_: Any) -> None:
    sys.stderr.write(f"note: {text}\n")
    sys.stderr.flush()


if __name__ == "__main__":
    Status.update = _say  # type: ignore[method-assign, assignment]
    main()
