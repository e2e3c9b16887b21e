"""Measure the planner on a folder of problems, against the best known costs."""

from __future__ import annotations

import json
import multiprocessing
import resource
import statistics
import time
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from itertools import product
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from planner.core.check import breaches
from planner.core.cost import cost
from planner.core.problem import Problem
from planner.management.yardsticks import YARDSTICKS, of_weeks

COLUMNS = "{:<14}{:<9}{:>9}{:>12}{:>10}{:>10}{:>12}{:>9}{:>9}{:>9}{:>9}"
HEADS = ("problem", "by", "seconds", "cost", "above", "range", "bound", "gap", "first", "near", "MB")
CURVE = (1, 2, 4, 8, 13, 26, 39, 52)
NEAR = 1.01  # of the cost at the end
BESIDE = Path(__file__).resolve().parents[4] / "shared" / "instances"


@dataclass(frozen=True, slots=True)
class Run:
    """One run in a process of its own.

    `first` seconds to the first plan, `near` to one within a hundredth of the last, `peak` MB of memory in all.
    """

    instance: str
    seconds: float
    seed: int
    cost: float
    bound: float
    status: str
    first: float
    wall: float
    peak: float
    iterations: int
    near: float = 0.0
    by: str = "planner"


@dataclass(frozen=True, slots=True)
class Job:
    """What to run: a file, cut or drawn out to so many weeks unless that is 0, and who plans."""

    path: Path
    weeks: int = 0
    by: str = "planner"

    @property
    def name(self) -> str:
        return f"{self.path.stem}/{self.weeks}w" if self.weeks else self.path.stem

    def problem(self) -> Problem:
        built = json.loads(self.path.read_text(encoding="utf-8"))
        return Problem.from_json(of_weeks(built, self.weeks) if self.weeks else built)


def measure(job: Job, seconds: float, seed: int, workers: int) -> Run:
    """Solve one problem once; the kernels are compiled before the clock starts."""
    from planner.core.kernels import warm_up

    warm_up()
    return planned(job, seconds, seed, workers) if job.by == "planner" else beside(job, seconds, seed, workers)


def peak() -> int:
    """MB of memory that this process has taken at most."""
    return round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)


def beside(job: Job, seconds: float, seed: int, workers: int) -> Run:
    """One of the yardsticks, judged by the same referee."""
    problem = job.problem()
    started = time.monotonic()
    stations, bound = YARDSTICKS[job.by](problem, seconds, seed, workers)
    wall = round(time.monotonic() - started, 3)
    broken = breaches(problem, stations)
    if any(one.rule != "H10" for one in broken):
        raise CommandError(f"{job.by} on {job.name}: {broken[0].text}")
    whole, status = round(cost(problem, stations).total, 4), "no plan" if broken else "feasible"
    return Run(job.name, seconds, seed, whole, round(bound, 4), status, wall, wall, peak(), 0, wall, job.by)


def planned(job: Job, seconds: float, seed: int, workers: int) -> Run:
    from planner.core.solve import solve
    from planner.proving import Prover

    problem = job.problem()
    told: list[tuple[float, float]] = []
    started = time.monotonic()
    result = solve(
        problem,
        seconds=seconds,
        seed=seed,
        workers=workers,
        progress=lambda news: told.append((time.monotonic() - started, news.cost)),
        prover=Prover,
    )
    wall = time.monotonic() - started
    near = next(at for at, costs in told if costs <= NEAR * result.cost.total)
    return Run(
        job.name, seconds, seed, round(result.cost.total, 4), round(result.bound, 4), result.status.value,
        round(told[0][0], 3), round(wall, 2), peak(), result.iterations, round(near, 2),
    )  # fmt: skip


class Command(BaseCommand):
    help = (
        "Solves every problem of a folder several times and prints the median cost, how far it is above the best "
        "known one (best.json in that folder, if there), the proven gap, the time to the first plan and the memory. "
        "Each run has a process of its own and ends with the referee's check. Give it an idle machine."
    )
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("names", nargs="*", metavar="NAME", help="problems to run (default: all of the folder)")
        parser.add_argument("--instances", type=Path, default=BESIDE, metavar="DIR")
        parser.add_argument("--seconds", type=float, nargs="+", default=[2.0, 10.0, 60.0], metavar="N")
        parser.add_argument("--seeds", type=int, default=5, metavar="N", help="runs of each (default 5)")
        parser.add_argument("--workers", type=int, default=2, metavar="N", help="threads of each run (default 2)")
        parser.add_argument(
            "--beside", nargs="+", default=[], choices=sorted(YARDSTICKS), help="what else to run in the same seconds"
        )
        parser.add_argument(
            "--weeks-curve", action="store_true", help=f"each problem cut or drawn out to {CURVE} weeks"
        )
        parser.add_argument("--json", type=Path, metavar="FILE", help="write every run there")

    def handle(
        self,
        *,
        names: list[str],
        instances: Path,
        seconds: list[float],
        seeds: int,
        workers: int,
        beside: list[str],
        weeks_curve: bool,
        json: Path | None,
        **options: Any,
    ) -> None:
        paths, known = problems(instances, names), best_known(instances)
        weeks = CURVE if weeks_curve else (0,)
        jobs = [Job(path, n, by) for path in paths for n in weeks for by in ("planner", *beside)]
        self.stdout.write(COLUMNS.format(*HEADS))
        runs: list[Run] = []
        for n, (job, limit) in enumerate(product(jobs, seconds), 1):
            self.stderr.write(f"{n} of {len(jobs) * len(seconds)}: {job.name} by {job.by}, {limit:g} s", ending="\r")
            here = list(several(job, limit, 1 if job.by == "greedy" else seeds, workers))
            runs += here
            self.stdout.write(row(here, known.get(job.name)))
            self.stdout.flush()
            if json is not None:
                write(json, runs, known)


def problems(folder: Path, names: Iterable[str]) -> list[Path]:
    """The problem files to run, smallest first; clashes have no plan and are left out."""
    if not folder.is_dir():
        raise CommandError(f"{folder} is no folder. Say where the problems are with --instances DIR.")
    known = best_known(folder)
    wanted = set(names)
    found = [
        path
        for path in sorted(folder.glob("*.json"), key=lambda path: path.stat().st_size)
        if path.name != "best.json" and (not wanted or path.stem in wanted)
        and (path.stem not in known or known[path.stem] is not None)
    ]  # fmt: skip
    if missing := wanted - {path.stem for path in found}:
        raise CommandError(f"No problem with a plan is called {', '.join(sorted(missing))} in {folder}.")
    return found


def best_known(folder: Path) -> dict[str, float | None]:
    """The best known cost by problem; None where there is no plan."""
    path = folder / "best.json"
    if not path.exists():
        return {}
    entries = json.loads(path.read_text(encoding="utf-8"))
    return {name: entry.get("cost") if entry.get("feasible") else None for name, entry in entries.items()}


def several(job: Job, seconds: float, seeds: int, workers: int) -> Iterator[Run]:
    context = multiprocessing.get_context("spawn")  # fresh memory for each figure
    for seed in range(1, seeds + 1):
        with context.Pool(1) as pool:
            yield pool.apply(measure, (job, seconds, seed, workers))


def row(runs: list[Run], known: float | None) -> str:
    costs = sorted(run.cost for run in runs)
    median = statistics.median(costs)
    above = "" if not known else f"{100 * (median / known - 1):+.2f} %"
    spread = "" if not known else f"{100 * (costs[-1] - costs[0]) / known:.2f} %"
    gap = statistics.median(1 - run.bound / run.cost if run.cost else 0.0 for run in runs)
    return COLUMNS.format(
        runs[0].instance,
        runs[0].by,
        f"{runs[0].seconds:g}",
        f"{median:.2f}",
        above,
        spread,
        f"{statistics.median(run.bound for run in runs):.2f}",
        f"{100 * gap:.1f} %" if runs[0].by != "greedy" else "",
        f"{statistics.median(run.first for run in runs):.2f}",
        f"{statistics.median(run.near for run in runs):.2f}",
        f"{max(run.peak for run in runs):.0f}",
    )


def write(path: Path, runs: list[Run], known: dict[str, float | None]) -> None:
    report = {"known": known, "runs": [asdict(run) for run in runs]}
    path.write_text(json.dumps(report, indent=1) + "\n", encoding="utf-8")
