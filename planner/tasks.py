"""The planner's background work: planning a block, dealing again, and the compiling that comes before the first one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from celery.signals import worker_init

from planner.actions import record_best
from planner.build import problem_of
from planner.core.problem import Problem, Station
from planner.core.words import Words
from planner.core.writing import as_object
from planner.models import PlanRun
from planner.proving import Prover
from planner.settling import stations_of
from shared.clock import clock_at
from shared.jobs import JobRefused, Lease, job_task

if TYPE_CHECKING:
    from planner.core.clash import Clash
    from planner.core.solve import Progress

BETWEEN_REPORTS = 0.5  # seconds
THREADS = 2  # of the search, for one run


@worker_init.connect
def compile_kernels(**kwargs: Any) -> None:
    """Before the pool forks, so that every process of it finds the machine code ready."""
    from planner.core.kernels import warm_up

    warm_up()


@job_task
def run_plan(lease: Lease) -> None:
    """Plan the block of a run. Cancelled, it keeps its best plan; broken off, it goes on from that."""
    from planner.core.solve import solve  # loads numba: not in the web server

    run = run_of(lease)
    reporter = Reporter(lease, run)
    with clashes_told(run, reporter.problem):
        result = solve(
            reporter.problem,
            seconds=run.seconds,
            seed=run.seed,
            workers=THREADS,
            stop=lambda: lease.stopped,
            progress=reporter,
            start=start_of(run, reporter.problem),
            prover=Prover,
        )
    reporter.keep(result.stations, result.cost.total, result.bound, result.seconds)


@job_task
def deal_again(lease: Lease) -> None:
    """Mend the programme of a block after a change, and deal anew what the person asked for. Takes about a second."""
    from planner.core.redeal import redeal

    run = run_of(lease)
    problem = Problem.from_json(run.problem)
    with clashes_told(run, problem):
        dealt = redeal(
            problem,
            [station for station in stations_of(run.start) if place_of(station) != run.asked.get("swapped")],
            seed=run.seed,
            free=[(session, slot) for session, slot in run.asked.get("free", ())],
            words=words_of(run, problem),
        )
    if lease.holds():
        run.released = [*run.asked.get("dark", ()), *dealt.released]
        run.save(update_fields=["released"])
        record_best(run=run, problem=problem, stations=dealt.stations, bound=0, seconds=dealt.seconds)


def run_of(lease: Lease) -> PlanRun:
    return PlanRun.objects.select_related("block__squad__club").get(pk=lease.args["run"])


def place_of(station: Station) -> list[str | int]:
    return [station.session, station.slot, station.drill]


def start_of(run: PlanRun, problem: Problem) -> tuple[Station, ...]:
    """The best plan so far of a run that was broken off, else what it was given; less what breaks a rule."""
    from planner.core.redeal import release

    known = stations_of(run.plan["stations"] if run.plan else run.start)
    return release(problem, known, Words(problem))[0]


@contextmanager
def clashes_told(run: PlanRun, problem: Problem) -> Iterator[None]:
    """Locks that contradict a rule end the job in the words of the coach."""
    from planner.core.solve import Impossible, Unfinished

    try:
        yield
    except Impossible as impossible:
        run.clash = as_object(named(impossible.clash, run, problem))
        run.save(update_fields=["clash"])
        raise JobRefused(run.clash["text"]) from impossible
    except Unfinished as reason:
        raise JobRefused(str(reason)) from reason


def named(found: Clash, run: PlanRun, problem: Problem) -> Clash:
    """The clash once more with the names of people, drills and nights in place of the ids of the problem."""
    from planner.core.clash import clash

    return clash(problem, found.locks, words_of(run, problem)) or found


def words_of(run: PlanRun, problem: Problem) -> Words:
    """The names of people, drills and nights as they are now; slots as the printed sheet counts them."""
    words = problem_of(run.block, **clock_at(run.block.squad.club)).words
    return replace(words, problem=problem)


class Reporter:
    """Called by the solver ten times a second; writes twice a second, and no plan worse than one before.

    A run that is taken up again goes on in its line of figures where the run before was broken off.
    """

    def __init__(self, lease: Lease, run: PlanRun) -> None:
        self.lease, self.run = lease, run
        self.problem = Problem.from_json(run.problem)
        self.before = float(run.trace[-1][0]) if run.trace else 0.0
        self.best = float(run.plan["cost"]) if run.plan else math.inf
        self.latest: tuple[Station, ...] = ()
        self.due = 0.0

    def __call__(self, news: Progress) -> None:
        self.latest = news.stations or self.latest
        if news.seconds < self.due:
            return
        self.due = news.seconds + BETWEEN_REPORTS
        told = {"fraction": news.fraction, "seconds": news.seconds, "cost": news.cost, "bound": news.bound}
        if self.lease.beat({word: round(figure, 3) for word, figure in told.items()}) and news.cost < self.best:
            self.keep(self.latest, news.cost, news.bound, news.seconds)

    def keep(self, stations: tuple[Station, ...], cost: float, bound: float, seconds: float) -> None:
        """Into the row, unless it belongs to another worker by now or holds a better plan."""
        if cost <= self.best and self.lease.holds():
            self.best = cost
            record_best(
                run=self.run, problem=self.problem, stations=stations, bound=bound, seconds=self.before + seconds
            )
