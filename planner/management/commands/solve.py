"""Plan a training block from a problem file, without site or database."""

from __future__ import annotations

import json
import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from planner.core.check import breaches
from planner.core.problem import Malformed, Plan, Problem
from planner.core.solve import Impossible, Result, Unfinished, solve
from planner.core.unserved import unserved
from planner.proving import Prover

IMPOSSIBLE, UNREADABLE, UNFINISHED = 3, 2, 1
LARGEST_FILE = 64 * 1024 * 1024  # bytes; a season of forty players takes a fifth of a megabyte
MOST_SHOWN = 10


class Command(BaseCommand):
    help = (
        "Plans the block of a problem file (docs/planning-problem.md) and writes the plan. Ctrl-C stops early and "
        "keeps the best plan so far. Exit code 0: a plan was written; 3: the locks contradict each other or a rule; "
        "2: a file cannot be read or written; 1: no plan was found, though nothing shows that there is none."
    )
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("problem", type=Path, metavar="PROBLEM.json")
        parser.add_argument("--out", type=Path, required=True, metavar="PLAN.json")
        parser.add_argument("--seconds", type=float, default=60, metavar="N", help="time for the search (default 60)")
        parser.add_argument("--seed", type=int, default=1, metavar="N", help="the same seed tries the same ways first")
        parser.add_argument("--workers", type=int, default=2, metavar="N", help="threads (default 2)")

    def handle(self, *, problem: Path, out: Path, seconds: float, seed: int, workers: int, **options: Any) -> None:
        within("--seconds", seconds, 0.1, 86_400)
        within("--seed", seed, 0, 2**31)
        within("--workers", workers, 1, 64)
        check_place(out, problem)
        known = read_problem(problem)
        with stopped_by_interrupt() as stop:
            self.introduce(known)
            result = run(known, seconds=seconds, seed=seed, workers=workers, stop=stop)
        if broken := breaches(known, result.stations):
            raise CommandError(
                _("The plan breaks a rule and is not written: %s") % broken[0].text, returncode=UNFINISHED
            )
        write_whole(out, in_json(known, result))
        self.report(result, out)

    def introduce(self, problem: Problem) -> None:
        slots = sum(len(session.slots) for session in problem.sessions)
        self.stdout.write(
            _("%(name)s: %(players)d players, %(drills)d drills, %(sessions)d sessions with %(slots)d slots")
            % {
                "name": problem.name,
                "players": len(problem.players),
                "drills": len(problem.drills),
                "sessions": len(problem.sessions),
                "slots": slots,
            }
        )
        nowhere = unserved(problem)
        if nowhere:
            self.stdout.write(_("Targets that nothing can serve: %d") % len(nowhere))
        reasons = list(dict.fromkeys(entry.text for entry in nowhere))
        for reason in reasons[:MOST_SHOWN]:
            self.stdout.write(f"  {reason}")
        if len(reasons) > MOST_SHOWN:
            self.stdout.write(_("  and %d more reasons") % (len(reasons) - MOST_SHOWN))
        self.stdout.flush()

    def report(self, result: Result, out: Path) -> None:
        self.stdout.write(_("Cost %(cost).2f") % {"cost": result.cost.total})
        for part, amount in asdict(result.cost).items():
            self.stdout.write(f"  {part:<10} {amount:12.2f}")
        self.stdout.write(_("No plan costs less than %(bound).2f") % {"bound": result.bound})
        self.stdout.write(_("%(status)s after %(seconds).1f s") % {"status": result.status, "seconds": result.seconds})
        self.stdout.write(_("Plan written to %s") % out)


def within(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise CommandError(
            _("%(name)s is %(value)s; write %(low)s to %(high)s")
            % {"name": name, "value": value, "low": low, "high": high},
            returncode=UNREADABLE,
        )


def check_place(out: Path, problem: Path) -> None:
    """That the plan can be written there is asked before the search, not after it."""
    if not out.parent.is_dir():
        raise unreadable(out, _("its folder does not exist; make it first"))
    if out.is_dir():
        raise unreadable(out, _("it is a folder; name a file in it"))
    if out.exists() and problem.exists() and out.samefile(problem):
        raise unreadable(out, _("that is the problem itself; name another file"))
    if not os.access(out.parent, os.W_OK):
        raise unreadable(out, _("its folder cannot be written to; choose another"))


def unreadable(path: Path, why: str) -> CommandError:
    return CommandError(f"{path}: {why}", returncode=UNREADABLE)


def read_problem(path: Path) -> Problem:
    try:
        return Problem.from_json(json.loads(read_text(path)))
    except Malformed as error:
        raise unreadable(path, str(error)) from None
    except RecursionError:
        raise unreadable(path, _("it is nested too deeply to be a problem file")) from None
    except ValueError as error:
        raise unreadable(path, _("it is not JSON (%s); choose a problem file") % error) from None


def read_text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise unreadable(path, _("it cannot be read (%s)") % error.strerror) from None
    if len(content) > LARGEST_FILE:
        raise unreadable(path, _("it is larger than any problem file"))
    return content.decode("utf-8-sig")


def run(problem: Problem, *, seconds: float, seed: int, workers: int, stop: Callable[[], bool]) -> Result:
    from planner.core.kernels import warm_up  # compiles on the first run only; none of the seconds are spent on it

    warm_up()
    try:
        return solve(problem, seconds=seconds, seed=seed, workers=workers, stop=stop, prover=Prover)
    except Impossible as error:
        raise CommandError(_("These wishes cannot all be met. %s") % error.clash, returncode=IMPOSSIBLE) from None
    except Unfinished as error:
        raise CommandError(str(error), returncode=UNFINISHED) from None


@contextmanager
def stopped_by_interrupt() -> Iterator[Callable[[], bool]]:
    """Ctrl-C ends the search instead of the command; outside the main thread nothing can be caught."""
    if threading.current_thread() is not threading.main_thread():
        yield lambda: False
        return
    asked = threading.Event()
    before = signal.signal(signal.SIGINT, lambda *_: asked.set())
    try:
        yield asked.is_set
    finally:
        signal.signal(signal.SIGINT, before)


def in_json(problem: Problem, result: Result) -> str:
    plan = Plan(
        problem.name,
        result.stations,
        cost=result.cost.total,
        bound=result.bound,
        status=result.status,
        seconds=round(result.seconds, 3),
    )
    return json.dumps(plan.to_json(), ensure_ascii=False, indent=1) + "\n"


def write_whole(path: Path, text: str) -> None:
    """The whole file or none of it: whoever reads it meanwhile sees the old one."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("x", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise unreadable(path, _("it cannot be written (%s)") % error.strerror) from None
