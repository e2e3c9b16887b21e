"""The cover tackle: where a runner with the ball is first met, and by whom."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from drills.core.board.reach import Array, Runner, distance, seconds_to
from drills.core.board.scene import HALF_BACK, Carrier, Defender, Place, Scene

GRID = 400  # moments looked at along the run before the first meeting is closed in on
HALVINGS = 40


@dataclass(frozen=True, slots=True)
class Meeting:
    """The earliest meeting of a runner and one man: `seconds` and `place` are None if he scores first.

    `short_by`: metres that the man is still away when the runner crosses the line, 0 if he is met.
    """

    who: int
    seconds: float | None
    place: Place | None
    short_by: float = 0.0


@dataclass(frozen=True)
class Run:
    """A runner's way to where he is going, the goal line at the latest, at one speed."""

    carrier: Carrier

    @property
    def seconds(self) -> float:
        """Until he is at the end of his way: where he is going, or on the goal line if he crosses it before."""
        c = self.carrier
        share = c.y / (c.y - c.to_y) if c.to_y < 0 < c.y else 1.0
        return float(np.hypot(c.to_x - c.x, c.to_y - c.y) * share / c.speed)

    def at(self, seconds: Array | float) -> tuple[Array, Array]:
        c = self.carrier
        way = np.hypot(c.to_x - c.x, c.to_y - c.y)
        share = np.asarray(seconds) * c.speed / way
        return c.x + share * (c.to_x - c.x), c.y + share * (c.to_y - c.y)


def meetings(scene: Scene, carrier: Carrier, numbers: Iterable[int] = (15, 14, 11, HALF_BACK)) -> tuple[Meeting, ...]:
    """Each man's earliest meeting with the runner, the earliest first; those who never meet him last."""
    men = [man for number in numbers if (man := scene.man(number))]
    found = [meeting(Run(carrier), man, scene.runner(man), scene.book.arm) for man in men]
    return tuple(sorted(found, key=lambda each: (each.seconds is None, each.seconds or 0.0, each.short_by)))


def meeting(run: Run, man: Defender, runner: Runner, arm: float) -> Meeting:
    """The first moment by which he can be within an arm of the runner."""
    times = np.linspace(0.0, run.seconds, GRID + 1)
    late = lateness(run, man, runner, arm, times)
    met = np.flatnonzero(late <= 0)
    if not met.size:
        return Meeting(man.number, None, None, _short_by(run, man, runner, arm))
    first = int(met[0])
    seconds = _first_zero(run, man, runner, arm, times[max(first - 1, 0)], times[first])
    x, y = run.at(seconds)
    return Meeting(man.number, seconds, (float(x), float(y)))


def lateness(run: Run, man: Defender, runner: Runner, arm: float, seconds: Array) -> Array:
    """Seconds that he comes too late for each moment; 0 or less where he is there."""
    x, y = run.at(seconds)
    metres = np.maximum(np.hypot(x - man.x, y - man.y) - arm, 0.0)
    return np.asarray(seconds_to(metres, runner) - seconds)


def _first_zero(run: Run, man: Defender, runner: Runner, arm: float, early: float, late: float) -> float:
    for _half in range(HALVINGS):
        middle = (early + late) / 2
        if lateness(run, man, runner, arm, np.asarray(middle)) <= 0:
            late = middle
        else:
            early = middle
    return float(late)


def _short_by(run: Run, man: Defender, runner: Runner, arm: float) -> float:
    from_end = np.hypot(*(np.subtract(run.at(run.seconds), (man.x, man.y))))
    return float(from_end) - arm - float(distance(run.seconds, runner))
