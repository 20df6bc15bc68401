"""From a drawn vehicle to a standing robot: the plan, the rig and the pictures."""

import os

# Same input, same bytes: threaded linear algebra sums in a different order on every
# machine.
for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

__version__ = "0.1.0"
