"""Solve a planning problem: anneal on several threads, report progress, stop at any moment with the best plan.

The clock only says when to stop and how far the temperature has fallen. With an iteration limit it plays no
part, and the same seed gives the same plan.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Protocol

from planner.core.bound import Bound
from planner.core.check import Cost, breaches, cost
from planner.core.clash import Clash, merge
from planner.core.flat import Layout, flatten
from planner.core.problem import Problem, Station, Status
from planner.core.search import Search, Snapshot

CHUNK = 200  # rounds between two looks at the clock: a few milliseconds
HOT, COLD = 150.0, 3.0  # temperatures in units of cost
WARM, COOL = 20.0, 1.0  # the same for a plan that is already good
ENOUGH = 5000  # rounds for each slot in one cooling
EARLY = 0.02  # of the time: the temperature has hardly fallen, and the speed is known
REPORT_EVERY = 0.1  # seconds
BOUND_SHARE = 0.5  # of the last thread's time goes into the bound
WORTH_A_BOUND = 5.0  # seconds: in less, both threads search
PROOF_AFTER = 0.1  # of the time: by then the cost is a good cutoff
SPARE = 0.8  # seconds at the end for what the exact model takes longer than it was told
TOLERANCE = 0.01  # of a bound
SMALL = 6000  # choices of a player at a drill in a slot


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run has come; `stations` only when there is a better plan than at the last report."""

    fraction: float
    seconds: float
    cost: float
    bound: float
    stations: tuple[Station, ...] | None


@dataclass(frozen=True, slots=True)
class Result:
    """The best plan found; `bound` is a proven lower bound on its cost, `iterations` those of all threads."""

    stations: tuple[Station, ...]
    cost: Cost
    bound: float
    status: Status
    seconds: float
    iterations: int


class Proving(Protocol):
    """A question to the exact model under way: `answer` waits for bound and stations, `end` stops it at once."""

    def answer(self) -> tuple[float, tuple[Station, ...]]: ...

    def end(self) -> None: ...


Prover = Callable[[Problem, float, float], Proving]  # problem, cost to beat, seconds


class Impossible(Exception):
    """The locks contradict each other or a rule; `clash` says which."""

    def __init__(self, clash: Clash) -> None:
        super().__init__(str(clash))
        self.clash = clash


class Unfinished(Exception):
    """Locked stations found no players, although no contradiction was found either."""


class Board:
    """What the threads of a run tell each other: the best plan, the best bound, and when to stop."""

    def __init__(self, seconds: float, iterations: int | None) -> None:
        self.started = time.monotonic()
        self.seconds, self.iterations = seconds, iterations
        self.stopped = threading.Event()
        self.cost, self.bound = float("inf"), 0.0
        self.plan: Snapshot | None = None
        self.rank = 0
        self._lock = threading.Lock()
        self._ends: list[Callable[[], None]] = []

    @property
    def elapsed(self) -> float:
        return time.monotonic() - self.started

    def fraction(self, rounds: int) -> float:
        """The part of the run that is over, by rounds if they are limited, else by the clock."""
        if self.iterations is not None:
            return min(1.0, rounds / self.iterations) if self.iterations > 0 else 1.0
        return min(1.0, self.elapsed / max(1e-9, self.seconds))

    @property
    def is_late(self) -> bool:
        """True when a run that the clock limits should have ended by itself."""
        return self.iterations is None and self.elapsed > self.seconds + SPARE

    def is_over(self, rounds: int) -> bool:
        return self.stopped.is_set() or self.is_proven or self.fraction(rounds) >= 1.0

    @property
    def is_proven(self) -> bool:
        return self.cost <= self.bound + TOLERANCE

    def offer(self, search: Search, rank: int) -> None:
        """Equal costs go to the search of lower rank, so that the order of threads plays no part."""
        if (search.cost, rank) < (self.cost, self.rank):
            with self._lock:
                if (search.cost, rank) < (self.cost, self.rank):
                    self.cost, self.rank, self.plan = search.cost, rank, search.snapshot()

    def on_stop(self, end: Callable[[], None]) -> None:
        """Something to end with the run, at once if that is over already."""
        with self._lock:
            self._ends.append(end)
        if self.stopped.is_set():
            end()

    def stop(self) -> None:
        self.stopped.set()
        with self._lock:
            ends = list(self._ends)
        for end in ends:
            end()

    def raise_bound(self, bound: float) -> None:
        with self._lock:
            self.bound = max(self.bound, bound)


def solve(
    problem: Problem,
    *,
    seconds: float,
    seed: int = 1,
    workers: int = 2,
    iterations: int | None = None,
    stop: Callable[[], bool] | None = None,
    progress: Callable[[Progress], None] | None = None,
    start: Sequence[Station] = (),
    prover: Prover | None = None,
) -> Result:
    """The best plan found within `seconds`, or after `iterations` rounds of each thread.

    `stop` is asked a few times a second. `start` is a plan to improve on. `prover`
    asks the exact model about a small problem, in a process that it can end. Raises Impossible when the locks
    contradict a rule, and Unfinished when locked stations found no players for another reason.
    """
    layout = flatten(problem)
    board = Board(seconds, iterations)
    start = tuple(start)
    if Search(layout, seed, start).unstaffed or locks_break_a_rule(problem):
        start = staffed_locks(problem)
    searches = [Search(layout, seed * 1000 + rank, start) for rank in range(max(1, workers))]
    if searches[0].unstaffed:
        raise Unfinished(UNSTAFFED)
    for rank, search in enumerate(searches):
        board.offer(search, rank)
    tasks = [partial(_anneal, search, rank, board, bool(start)) for rank, search in enumerate(searches)]
    if iterations is None and seconds >= WORTH_A_BOUND:
        before = partial(_prove_later, prover) if prover is not None and is_small(layout) else _bound_first
        tasks[-1] = partial(before, layout, board, tasks[-1])
    threads = [threading.Thread(target=task, daemon=True) for task in tasks]
    _watch(board, threads, searches, stop, progress)
    return _result(problem, board, searches)


UNNOTICED = ("H1", "H8", "H11", "H13", "H15")  # rules about two stations, or a player at two
UNSTAFFED = "Some locked stations found no players. Unlock one of them, or free players for it."


def locks_break_a_rule(problem: Problem) -> bool:
    """The locked stations, alone and as bare as they are, break a rule that seating them one by one would not notice.

    Somebody locked to two stations of a slot, for one, would quietly be moved.
    """
    bare = (Station(lock.session, lock.slot, lock.drill, lock.players) for lock in merge(problem.locks))
    return any(breach.rule in UNNOTICED for breach in breaches(problem, bare))


def staffed_locks(problem: Problem) -> tuple[Station, ...]:
    """Stations that keep all locks at once; raises Impossible, or Unfinished when neither can be shown."""
    from planner.core.clash import clash  # these load OR-Tools, which most runs do without
    from planner.core.foothold import foothold

    if (found := clash(problem)) is not None:
        raise Impossible(found)
    if (stations := foothold(problem)) is None:
        raise Unfinished(UNSTAFFED)
    return stations


def is_small(layout: Layout) -> bool:
    """True where the exact model has a chance."""
    return int(layout.flat.allowed.sum(dtype="int64")) <= SMALL


def _bound_first(layout: Layout, board: Board, then: Callable[[], None]) -> None:
    """Raise the bound for part of the time, then do the rest of the thread's work."""
    bound = Bound(layout)
    while (gone := board.fraction(0) / BOUND_SHARE) < 1 and not board.is_over(0):
        board.raise_bound(bound.step(board.cost, gone))
    then()


def _prove_later(ask: Prover, layout: Layout, board: Board, then: Callable[[], None]) -> None:
    """The same for a small problem, with most of the time for its exact model once the cost is a good cutoff."""
    bound = Bound(layout)
    while (gone := board.fraction(0) / PROOF_AFTER) < 1 and not board.is_over(0):
        board.raise_bound(bound.step(board.cost, gone))
    if board.is_over(0):
        return
    proving = ask(layout.problem, board.cost, board.seconds - board.elapsed - SPARE)
    board.on_stop(proving.end)
    proven, stations = proving.answer()
    if stations:  # the model leaves out what coaches wish, so seating its plan may have to leave out a station
        found = Search(layout, 1, stations, free=())
        if not found.unstaffed:
            board.offer(found, 0)
    board.raise_bound(proven)
    then()


def _anneal(search: Search, rank: int, board: Board, improving: bool) -> None:
    hot, cold = (WARM, COOL) if improving else (HOT, COLD)
    before, coolings = board.fraction(0), 0
    while not board.is_over(search.rounds):
        gone = (board.fraction(search.rounds) - before) / (1 - before)
        coolings = coolings or _coolings(search, board, gone)
        left = CHUNK if board.iterations is None else min(CHUNK, board.iterations - search.rounds)
        if search.improve(left, hot * (cold / hot) ** (gone * max(1, coolings) % 1)):
            board.offer(search, rank)


def _coolings(search: Search, board: Board, gone: float) -> int:
    """How often to cool down: more than so many rounds for each slot find less than another way down.

    0 while it is too early to tell how many rounds there will be.
    """
    if board.iterations is None and gone < EARLY:
        return 0
    rounds = search.rounds / gone if board.iterations is None else board.iterations
    return max(1, round(rounds / (ENOUGH * len(search.flat.slot_week) + 1)))


def _watch(
    board: Board,
    threads: Sequence[threading.Thread],
    searches: Sequence[Search],
    stop: Callable[[], bool] | None,
    progress: Callable[[Progress], None] | None,
) -> None:
    """Report until the threads have ended; whatever happens here, none of them is left running."""
    told = float("inf")
    try:
        for thread in threads:
            thread.start()
        while (alive := [thread for thread in threads if thread.is_alive()]) and not board.is_late:
            if progress is not None:
                told = _report(board, searches, progress, told)
            if stop is not None and stop():
                break
            alive[0].join(REPORT_EVERY)
    finally:
        board.stop()
        for thread in threads:
            thread.join()
    if progress is not None:
        _report(board, searches, progress, told)


def _report(board: Board, searches: Sequence[Search], progress: Callable[[Progress], None], told: float) -> float:
    plan, found = board.plan, board.cost
    stations = searches[0].stations(plan) if plan is not None and found < told else None
    fraction = board.fraction(min(search.rounds for search in searches))
    progress(Progress(fraction, board.elapsed, found, board.bound, stations))
    return found


def _result(problem: Problem, board: Board, searches: Sequence[Search]) -> Result:
    assert board.plan is not None
    stations = searches[0].stations(board.plan)
    if broken := breaches(problem, stations):
        raise AssertionError(f"the search made a plan that breaks a rule: {broken[0].text}")
    total = cost(problem, stations)
    status = Status.OPTIMAL if total.total <= board.bound + TOLERANCE else Status.FEASIBLE
    rounds = sum(search.rounds for search in searches)
    return Result(stations, total, min(board.bound, total.total), status, board.elapsed, rounds)
