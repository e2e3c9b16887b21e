"""A small random source of our own, so that a plan depends on its seed alone and not on a library's version.

The generator is xorshift64* (S. Vigna, "An experimental exploration of Marsaglia's xorshift generators,
scrambled", 2016).
"""

# Numba infers the types of kernels; annotations there would only repeat the tables above.
# mypy: allow-untyped-defs, allow-untyped-calls

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.core.kernels.compiled import kernel

Dice = NDArray[np.uint64]


def dice(seed: int) -> Dice:
    """One word of state, never zero; neighbouring seeds start far apart."""
    return np.array([(seed * 0x9E3779B97F4A7C15 + 0x2545F4914F6CDD1D) % 2**64 or 1], dtype=np.uint64)


@kernel
def fraction(dice):
    """A number in [0, 1)."""
    x = dice[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    dice[0] = x
    return np.float64((x * np.uint64(0x2545F4914F6CDD1D)) >> np.uint64(11)) / 9007199254740992.0


@kernel
def below(dice, n):
    """A whole number in 0 .. n-1."""
    return int(fraction(dice) * n)


@kernel
def accepts(dice, change, temperature):
    """Metropolis: always when it costs nothing, else with probability exp(-change / temperature)."""
    return change <= 0 or (temperature > 0 and fraction(dice) < math.exp(-change / temperature))
