"""Which drills a slot could hold, and what each would change: what a coach chooses from."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from drills.models import Drill
from planner.actions import idle_for, with_drill
from planner.build import BuiltProblem, is_ran, key_of, player_id, session_id
from planner.core import problem as core
from planner.core.compare import Standing
from planner.core.words import number
from planner.models import Slot, Station
from planner.programme import Programme
from planner.verdicts import new_breaches

EVEN = 0.05  # minutes that nobody would call a difference


@dataclass(frozen=True, slots=True)
class Choice:
    """A drill in place of another.

    `short`: skill minutes that players would be short more (or fewer, below 0); `why_not`: the first rule that
    it would break, "" if it fits.
    """

    drill: Drill
    short: float
    cost: float
    why_not: str = ""

    @property
    def effect(self) -> str:
        if abs(self.short) < EVEN:
            return _("skills as short as now")
        text = _("%(minutes)s min fewer short") if self.short < 0 else _("%(minutes)s min more short")
        return text % {"minutes": number(round(abs(self.short), 1))}

    @property
    def word(self) -> str:
        """Weighed together with load, standing about and evenness, as the planner weighs them."""
        if abs(self.cost) < EVEN:
            return _("the same")
        return _("better") if self.cost < 0 else _("worse")


@dataclass(frozen=True, slots=True)
class Swaps:
    """Drills for a station and its players, the best first, and those that only a rule stands against."""

    fitting: tuple[Choice, ...]
    others: tuple[Choice, ...]


def swaps_for(built: BuiltProblem, station: Station) -> Swaps:
    state = built.programme.by_spot.get((station.slot_id, station.drill_id))
    if state is None:
        return Swaps((), ())
    here = [player_id(player) for player in state.players if built.is_there(player, state.slot)]
    before = Standing.of(built.problem, built.standing)
    drills = rows_of(candidates(built, station.slot, here))
    choices = [choice(built, before, drill, with_drill(state, drill, built)) for drill in drills]
    choices.sort(key=lambda choice: choice.cost)
    return Swaps(tuple(c for c in choices if not c.why_not), tuple(c for c in choices if c.why_not))


def choice(built: BuiltProblem, before: Standing, drill: Drill, wanted: Programme) -> Choice:
    after = Standing.of(built.problem, built.stations(wanted))
    broken = next(iter(new_breaches(before, after, built.words)), None)
    if broken is not None:
        return Choice(drill, 0, 0, broken.text)
    was, now = before.figures, after.figures
    return Choice(drill, now.short - was.short, now.cost - was.cost)


def additions_for(built: BuiltProblem, slot: Slot) -> list[Drill]:
    """Drills that enough of those without a station could run; the rest of the rules answers to the edit itself."""
    rows = rows_of(candidates(built, slot, None))
    return [drill for drill in rows if len(idle_for(drill, slot, built)) >= drill.players_least]


def rows_of(drills: Iterable[core.Drill]) -> list[Drill]:
    """Without the retired, which the problem holds too as long as they stand somewhere."""
    return list(Drill.objects.current().filter(pk__in=[key_of(drill.id) for drill in drills]))


def candidates(built: BuiltProblem, slot: Slot, players: Collection[str] | None) -> Iterator[core.Drill]:
    """By minutes, and with `players` by their number, their positions and what they may do that night."""
    here = {state.drill for state in built.programme.in_slot(slot.pk)}
    session = session_id(slot.session_id)
    for drill in built.problem.drills:
        if is_ran(drill.id) or key_of(drill.id) in here or not within(slot.minutes, drill.minutes):
            continue
        if players is None or suits(built.problem, drill, session, players):
            yield drill


def suits(problem: core.Problem, drill: core.Drill, session: str, players: Collection[str]) -> bool:
    return within(len(players), drill.players) and all(
        problem.player(player).has(drill.roles) and problem.ceiling(player, session).allows(drill.kind)
        for player in players
    )


def within(number: int, span: tuple[int, int]) -> bool:
    return span[0] <= number <= span[1]
