"""An invented club, planned and printed, to look at and to try."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser

from planner.demo.scenario import LOGINS, PASSWORD, SLUG, build_club, plan_blocks, write_files
from planner.models import PlanRun
from shared.clock import today_at
from shared.models import Club
from shared.roles import ROLES


class Command(BaseCommand):
    help = (
        "Makes an invented club with a season, matches and the drill library, plans a six-week block, writes "
        "sheet, cards, totals, problem and plan into DIR, and serves the site. A second start keeps the data."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--into", type=Path, default=settings.BASE_DIR / "demo", metavar="DIR")
        parser.add_argument("--no-serve", action="store_true", help="only build, plan and print")
        parser.add_argument("--seconds", type=int, default=20, metavar="N", help="for the planner (default 20)")
        parser.add_argument("--fresh", action="store_true", help="throw the demo club away first")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *, into: Path, no_serve: bool, seconds: int, fresh: bool, port: int, **options: Any) -> None:
        if not 1 <= seconds <= 600:
            raise CommandError("--seconds takes 1 to 600", returncode=2)
        call_command("migrate", verbosity=0)
        if fresh:
            forget_club()
        if Club.objects.filter(slug=SLUG).exists():
            self.stdout.write("The demo club is there already and is kept; --fresh begins anew.")
        else:
            self.build(into, seconds)
        self.stdout.write(greeting(into, port, no_serve))
        if not no_serve:
            call_command("serve", port=port)

    def build(self, into: Path, seconds: int) -> None:
        today = today_at(Club(zone="Europe/London"))
        self.say("Squad, fixtures, drills and season …")
        files = write_files(into, today)
        block = build_club(files, today)
        self.say("Preparing the planner (the first time takes a while) …")
        prepare()
        self.say(f"Planning {block.weeks} weeks ({seconds} s) …")
        run = plan_blocks(block, today, seconds)
        self.say(f"Cost {run.plan['cost']:.0f}, at least {run.bound:.0f} whatever the plan. Printing …")
        write_plan(run, into)
        print_papers(run, into, today)

    def say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()


def forget_club() -> None:
    """The club with all that hangs below it, and its three people."""
    from planner.demo.cleaning import forget

    forget(SLUG, LOGINS)


def prepare() -> None:
    from planner.core.kernels import warm_up

    warm_up()


def write_plan(run: PlanRun, into: Path) -> None:
    for name, content in (("problem.json", run.problem), ("plan.json", run.plan)):
        (into / name).write_text(json.dumps(content, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


def print_papers(run: PlanRun, into: Path, today: Any) -> None:
    from planner.demo.papers import papers

    for name, content in papers(run.block, today):
        (into / name).write_bytes(content)


def greeting(into: Path, port: int, no_serve: bool) -> str:
    logins = "\n".join(
        f"  {name:<10} {PASSWORD}   {ROLES[role].name}: {ROLES[role].does}" for name, (*_, role) in LOGINS.items()
    )
    site = f"http://127.0.0.1:{port}/" if not no_serve else "manage.py serve, then http://127.0.0.1:8000/"
    return (
        f"\nPaper and files: {into.resolve()}\nSite: {site}\nLogins (name, password):\n{logins}\n"
        "Try: as head, open the week, move a player, undo; lock a station and plan again. As assistant, print tonight. "
        "As welfare, see who is near a limit and record a clearance. As medic, see who is on the way back.\n"
    )
