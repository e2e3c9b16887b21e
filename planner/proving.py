"""The exact model in a process of its own: it cannot be interrupted from within, a process can be ended.

`python -m planner.proving` reads one line of JSON with the problem, a cost and when to answer, and answers with
one line. It ends itself when its input is closed, so it never outlives the run that asked.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
from pathlib import Path

from planner.core.problem import Problem, Station

HOME = Path(__file__).resolve().parents[1]


class Prover:
    """One question to the exact model; `answer` waits for it, `end` stops it at once."""

    def __init__(self, problem: Problem, cost: float, seconds: float) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "planner.proving"],
            cwd=HOME,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        assert self._process.stdin is not None
        question = {"problem": problem.to_json(), "cost": cost, "until": time.time() + seconds}
        self._process.stdin.write(json.dumps(question) + "\n")
        self._process.stdin.flush()

    def answer(self) -> tuple[float, tuple[Station, ...]]:
        """A lower bound and the stations of a better plan, if one was found; 0 and none when it was ended."""
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        self.end()
        if not line:
            return 0.0, ()
        told = json.loads(line)
        return told["bound"], tuple(Station(s, k, d, tuple(players)) for s, k, d, players in told["stations"])

    def end(self) -> None:
        self._process.kill()
        self._process.wait()


def main() -> None:
    from planner.core.exact import prove

    question = json.loads(sys.stdin.readline())
    threading.Thread(target=_end_with_input, daemon=True).start()
    problem = Problem.from_json(question["problem"])
    bound, stations = prove(problem, question["cost"], lambda: question["until"] - time.time())
    told = [[s.session, s.slot, s.drill, list(s.players)] for s in stations]
    sys.stdout.write(json.dumps({"bound": bound, "stations": told}) + "\n")


def _end_with_input() -> None:
    sys.stdin.read()
    os._exit(1)


if __name__ == "__main__":
    main()
