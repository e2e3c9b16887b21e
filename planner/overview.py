"""What the pages of a block and of a run show, put together from the problem and what stands in it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.build import BuiltProblem, session_id
from planner.core.check import Breach, breaches
from planner.core.compare import Figures, Standing
from planner.core.unserved import unserved
from planner.core.words import number
from planner.models import Session
from planner.programme import Programme


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One of the parts of what a plan leaves open; `other` is the same figure of another plan."""

    label: str
    value: str
    other: str = ""
    standing: str = ""


Numbers = Mapping[str, float | None]


def figure_lines(figures: Numbers, other: Numbers | None = None) -> list[FigureLine]:
    """The parts in the coach's units; with `other`, what it has and whether it is better or worse.

    A part that neither of the two asks for is left out.
    """
    lines = []
    for key, label, unit in parts():
        here, there = figures.get(key), other.get(key) if other else None
        if here is None and there is None:
            continue
        mine, others = here or 0.0, there or 0.0
        more = (unit % number(others), compared(mine, others)) if other else ("", "")
        lines.append(FigureLine(label, unit % number(mine), *more))
    return lines


def parts() -> list[tuple[str, str, str]]:
    """Key of the figure, what it is called, its unit; counted over all players."""
    return [
        ("short", _("Skill minutes short of the wishes"), _("%s min")),
        ("untouched", _("Weeks of a player without a main skill"), _("%s weeks")),
        ("outside", _("Weekly load outside the band"), _("%s AU")),
        ("idle", _("Standing without a station"), _("%s min")),
        ("uneven", _("Contact, most less least in a group"), _("%s min")),
        ("unmet", _("Wished-for drills that do not run"), _("%s times")),
    ]


def compared(before: float, after: float) -> str:
    if abs(after - before) < 0.005:
        return _("the same")
    return _("better") if after < before else _("worse")


@dataclass(frozen=True, slots=True)
class NightLine:
    """One night of a block: how much of it is planned, who is expected, what does not fit."""

    session: Session
    is_past: bool
    slots: int
    planned: int
    stations: int
    expected: int
    limited: int
    breaches: int

    @property
    def state(self) -> str:
        if not self.slots:
            return _("nothing to plan")
        if self.planned == self.slots:
            return _("planned")
        return _("not planned") if not self.planned else _("partly planned")


@dataclass(frozen=True, slots=True)
class ShortSkill:
    """A skill that some players do not get enough of."""

    skill: str
    players: int
    minutes: float

    def __str__(self) -> str:
        text = ngettext(
            "%(skill)s: %(minutes)s min short, %(count)d player",
            "%(skill)s: %(minutes)s min short over %(count)d players",
            self.players,
        )
        return text % {"skill": self.skill, "minutes": number(self.minutes), "count": self.players}


@dataclass(frozen=True)
class Overview:
    """A programme in its problem. Everything is counted on first use."""

    built: BuiltProblem
    programme: Programme

    @cached_property
    def standing(self) -> Standing:
        return Standing.of(self.built.problem, self.built.stations(self.programme))

    @property
    def figures(self) -> Figures:
        return self.standing.figures

    @cached_property
    def breaches(self) -> list[Breach]:
        return breaches(self.built.problem, self.standing.stations, self.built.words)

    def is_about_away(self, breach: Breach) -> bool:
        """Whether it blames somebody who is not there for the slot."""
        place = breach.player, breach.session, breach.slot
        return None not in place and not self.built.problem.is_there(*place)

    @property
    def short_skills(self) -> list[ShortSkill]:
        """The largest gap first."""
        minutes: dict[str, float] = defaultdict(float)
        players: Counter[str] = Counter()
        for each in self.standing.tallies:
            for skill in each.skills:
                if skill.short:
                    minutes[skill.skill] += skill.short
                    players[skill.skill] += 1
        found = (ShortSkill(self.built.words.other(code), players[code], minutes[code]) for code in minutes)
        return sorted(found, key=lambda short: -short.minutes)

    @property
    def unserved(self) -> list[str]:
        """Why the wishes that got not a minute could get none, a sentence for each player and skill."""
        empty = {
            (each.player, skill.skill) for each in self.standing.tallies for skill in each.skills if not skill.minutes
        }
        problem = self.built.problem
        asked = replace(problem, targets=tuple(t for t in problem.targets if (t.player, t.skill) in empty))
        return [found.text for found in unserved(asked, self.built.words)]

    def nights(self, sessions: Iterable[Session]) -> list[NightLine]:
        """Slots should be fetched with the sessions."""
        broken = Counter(breach.session for breach in self.breaches)
        return [self._night(session, broken[session_id(session.pk)]) for session in sessions]

    def _night(self, session: Session, broken: int) -> NightLine:
        problem, key = self.built.problem, session_id(session.pk)
        is_known = any(each.id == key for each in problem.sessions)
        levels = Counter(problem.ceiling(player.id, key) for player in problem.players) if is_known else Counter()
        here = [state for state in self.programme.stations if state.session == session.pk]
        to_plan = {slot.pk for slot in session.slots.all() if slot.is_planned}
        return NightLine(
            session=session,
            is_past=session.pk not in self.built.open_sessions and bool(to_plan),
            slots=len(to_plan),
            planned=len({state.slot for state in here} & to_plan),
            stations=len(here),
            expected=sum(levels.values()) - levels["absent"],
            limited=levels["none"] + levels["controlled"],
            breaches=broken,
        )
