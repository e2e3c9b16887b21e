"""The planner's background work: one task, and the compiling that comes before the first one."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from celery.signals import worker_init

from planner.actions import record_best
from planner.build import problem_of
from planner.changes import today_of
from planner.core.problem import Problem, Station
from planner.core.words import Words
from planner.core.writing import as_object
from planner.models import PlanRun
from planner.proving import Prover
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
    """Plan the block of a run. Cancelled, it keeps its best plan; broken off, it is searched anew."""
    from planner.core.solve import Impossible, Unfinished, solve  # loads numba: not in the web server

    run = PlanRun.objects.select_related("block__squad__club").get(pk=lease.args["run"])
    reporter = Reporter(lease, run)
    try:
        result = solve(
            reporter.problem,
            seconds=run.seconds,
            seed=run.seed,
            workers=THREADS,
            stop=lambda: lease.stopped,
            progress=reporter,
            prover=Prover,
        )
    except Impossible as impossible:
        run.clash = as_object(named(impossible.clash, run, reporter.problem))
        run.save(update_fields=["clash"])
        raise JobRefused(run.clash["text"]) from impossible
    except Unfinished as reason:
        raise JobRefused(str(reason)) from reason
    reporter.keep(result.stations, result.cost.total, result.bound, result.seconds)


def named(found: Clash, run: PlanRun, problem: Problem) -> Clash:
    """The clash once more with the names of people, drills and nights in place of the ids of the problem."""
    from planner.core.clash import clash

    words = problem_of(run.block, today=today_of(run.block)).words
    names = Words(problem, words.players, words.drills, words.sessions, words.others)
    return clash(problem, found.locks, names) or found


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
