"""How long the board takes. Run: pytest tests/benchmarks/test_board.py -s -o addopts="" """

from __future__ import annotations

import sys
import time

from drills.core.board.advice import advise
from drills.core.board.answer import answer
from drills.core.board.kicks import KINDS, reach_map
from tests.drills.board.scenes import BALL_LEFT, BALL_MIDDLE, scene

THREE = scene(12, {11: (7, 3), 15: (17, 22), 14: (46, 17)})


def median_ms(what, times: int) -> float:
    taken = []
    for _time in range(times):
        start = time.perf_counter()
        what()
        taken.append(time.perf_counter() - start)
    return sorted(taken)[times // 2] * 1000


def test_the_map_of_the_whole_pitch():
    """A 1 m grid of the pitch, three players, five kinds of kick; asked for: 20 ms."""
    assert len(KINDS) == 5
    assert reach_map(THREE).first.size == 7_000
    sys.stdout.write(f"\nreach map: {median_ms(lambda: reach_map(THREE), 51):.2f} ms\n")


def test_the_advice_and_the_whole_answer():
    """Asked for: advice in 1 s, and on screen everything in 100 ms."""
    for name, found in (("ball left", BALL_LEFT), ("ball middle", BALL_MIDDLE)):
        advised, answered = median_ms(lambda f=found: advise(f), 11), median_ms(lambda f=found: answer(f), 11)
        sys.stdout.write(f"\n{name}: advice {advised:.0f} ms, the whole answer {answered:.0f} ms\n")
        assert len(advise(found).after) == len(found.kicks)
