"""From a drawn vehicle to a standing robot: the plan, the rig and the pictures.

From Python:

    import panelbeater

    shot = panelbeater.plan("lorry.svg", "robot.svg", frames=96)
    shot.write("lorry-plan")
    shot.sample([0, 47.5, 95]).stage_from_piece  # (3, n_pieces, 3, 3)
"""

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panelbeater.library import (
        Plan,
        demo_drawings,
        open_plan,
        plan,
        read_drawing,
        read_figure,
    )

# Same input, same bytes: threaded linear algebra sums in a different order on every
# machine.
for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

__version__ = "0.1.0"
__all__ = [
    "Plan",
    "__version__",
    "demo_drawings",
    "open_plan",
    "plan",
    "read_drawing",
    "read_figure",
]


if not TYPE_CHECKING:  # a checker sees the names above, and no others

    def __getattr__(name: str) -> object:
        """Load the library when something of it is first asked for: solvers are heavy."""
        if name not in __all__:
            raise AttributeError(f"module 'panelbeater' has no attribute {name!r}")
        from panelbeater import library

        return getattr(library, name)


def __dir__() -> list[str]:
    """What is offered, loaded or not."""
    return sorted({*globals(), *__all__})
