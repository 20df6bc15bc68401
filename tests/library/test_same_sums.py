"""Sums are added in one order, whatever the processor could do."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

PINS = (
    "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OPENBLAS_CORETYPE",
    "NPY_DISABLE_CPU_FEATURES",
)  # fmt: skip
ASK = """
import ctypes, os, pathlib
import panelbeater, numpy
from numpy._core._multiarray_umath import __cpu_dispatch__, __cpu_features__
wide = [f for f in __cpu_dispatch__ if f != "X86_V3" and __cpu_features__[f]]
[file] = (pathlib.Path(numpy.__file__).parent.parent / "numpy.libs").glob("*openblas64*")
core = ctypes.CDLL(str(file)).scipy_openblas_get_corename64_
core.restype = ctypes.c_char_p
print(core().decode(), *wide)
"""


def ask(**more: str) -> str:
    env = {name: value for name, value in os.environ.items() if name not in PINS}
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", ASK],
        env=env | more, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return done.stdout.strip()


CPU = Path("/proc/cpuinfo")
pytestmark = pytest.mark.skipif(
    not CPU.exists() or " avx2 " not in CPU.read_text(encoding="utf-8"),
    reason="no x86 processor with AVX2",
)


def test_wider_registers_are_left_unused() -> None:
    assert ask() == "Haswell"


def test_what_the_animator_has_set_stays() -> None:
    assert ask(OPENBLAS_CORETYPE="Sandybridge").split()[0] == "Sandybridge"
