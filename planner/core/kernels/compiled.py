"""How kernels are compiled: cached on disk, without the interpreter's lock, without reference counts.

Kernels hand each other wide tuples of arrays. Counting the references of each array at each call would cost
0.4 microseconds a call, which made the search ten times slower. Kernels therefore own nothing: they allocate
no memory, and whoever calls them from Python keeps the arrays alive until they return.
"""

from __future__ import annotations

from typing import Any

from numba import njit

options: dict[str, Any] = {"cache": True, "nogil": True, "_nrt": False, "no_cfunc_wrapper": True}
kernel = njit(**{**options, "no_cpython_wrapper": True})
"""For what only kernels call: what Python needs to call it would take most of the time of compiling it."""
entry = njit(**options)
"""For what Python calls."""
