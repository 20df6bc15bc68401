"""From a drawn vehicle to a standing robot: the plan, the rig and the pictures.

From Python:

    import panelbeater

    shot = panelbeater.plan("lorry.svg", "robot.svg", frames=96)
    shot.write("lorry-plan")
    shot.sample([0, 47.5, 95]).stage_from_piece  # (3, n_pieces, 3, 3)
"""

import os
from pathlib import Path
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


def _same_sums_everywhere() -> None:
    """Ask the number libraries to add in one order, before they are loaded.

    Threads and wider registers change the order of sums, so that one plan would come out
    as two on two machines. Linux on x86 with AVX2 or better is held to AVX2; what is set
    already, and any other machine, is left alone.
    """
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    try:
        flags = set(Path("/proc/cpuinfo").read_text(encoding="utf-8").split())
    except OSError:
        return
    if "avx2" not in flags:
        return
    os.environ.setdefault("OPENBLAS_CORETYPE", "Haswell")
    # Named only where the processor has them: to switch off what is not there is warned of.
    wider = {
        "avx512vl": "X86_V4",
        "avx512_bitalg": "AVX512_ICL",
        "avx512_fp16": "AVX512_SPR",
    }
    found = [feature for flag, feature in wider.items() if flag in flags]
    if found:
        os.environ.setdefault("NPY_DISABLE_CPU_FEATURES", " ".join(found))


_same_sums_everywhere()

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
