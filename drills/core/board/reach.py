"""How far a player gets in a time, and how long he takes to a place.

He reacts, then runs from standing towards his top speed: s(t) = v (t - tau (1 - exp(-t / tau))), the sprint of
Furusawa, Hill and Parkinson (1927) as used by Samozino et al. (2016) and Clark et al. (2019). Straight on, no turn,
no wind. The reaction of 0.3 s and the tau of 0.9 s are usual figures of ours, not published ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]

STEPS = 5  # of Halley's method: each trebles the digits; five are enough from any start
TINY = 1e-12


@dataclass(frozen=True, slots=True)
class Runner:
    """`speed` is the top speed in m/s, `reaction` and `tau` in seconds."""

    speed: float
    reaction: float = 0.3
    tau: float = 0.9

    def __post_init__(self) -> None:
        if not (self.speed > 0 and self.tau > 0 and self.reaction >= 0):
            raise ValueError("a runner needs a speed and a tau above 0 and a reaction of 0 or more")


def distance(seconds: Array | float, runner: Runner) -> Array:
    """Metres covered so many seconds after the sign to go; 0 while he reacts. Shape as `seconds`."""
    running = np.maximum(np.asarray(seconds, dtype=np.float64) - runner.reaction, 0.0)
    return runner.speed * (running + runner.tau * np.expm1(-running / runner.tau))


def seconds_to(metres: Array | float, runner: Runner) -> Array:
    """Seconds to cover so many metres (0 or more), reaction included. Shape as `metres`.

    The closed form is u = k + W(-exp(-k)) with k = 1 + s / (v tau), u = t / tau and W the principal branch of
    Lambert's function. It loses its digits where s is small, so u is found from u + exp(-u) = k itself.
    A place where he stands already takes no time at all.
    """
    metres = np.asarray(metres, dtype=np.float64)
    if (metres < 0).any():
        raise ValueError("a distance is 0 m or more")
    run = runner.tau * unit_time(metres / (runner.speed * runner.tau))
    return np.where(metres > 0, runner.reaction + run, 0.0)


def unit_time(metres: Array) -> Array:
    """u with u + exp(-u) - 1 = `metres`, by Halley's method from a start that is never too small."""
    u = np.maximum(metres + np.sqrt(2 * metres), TINY)
    for _step in range(STEPS):
        pulled = -np.expm1(-u)  # 1 - exp(-u), the slope
        over = u - pulled - metres
        u = u - 2 * over * pulled / (2 * pulled * pulled - over * (1 - pulled))
    return np.maximum(u, 0.0)
