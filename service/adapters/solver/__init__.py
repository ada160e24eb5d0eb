"""Solvers behind the cutting port.

The cutting engine and HiGHS import numpy on first use. Its matrices are small: threads would only
wait for each other and take the other worker's core, so numpy is told to use one.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
