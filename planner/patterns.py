"""Patterns on a squad's weeks as pages show them: which one fits and why, what it asks for, what stands against it."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.building.house_rules import STEPS
from planner.core.calendar import A_WEEK
from planner.core.pattern import Pattern as Figures
from planner.core.pattern import rises
from planner.core.pattern_fit import IN_SEASON, Fit, Fitting, Matches
from planner.core.totals import LIMITED, WeekLimits
from planner.core.words import number
from planner.days import Days
from planner.models import KIND_CHOICES, Fixture
from planner.pattern_models import Pattern, WeekPattern
from planner.totals import LOOK_BACK, WeekTotals, week_totals
from shared.core.contact import Kind
from squads.models import Squad

KIND_WORDS = dict(KIND_CHOICES)
TOUCH = "C1"


@dataclass(frozen=True, slots=True)
class Proposal:
    """A pattern that fits a week, and why. Nobody but a person puts it there."""

    monday: dt.date
    pattern: Pattern
    why: str


def fixtures_near(squad: Squad, first: dt.date, last: dt.date) -> QuerySet[Fixture]:
    """Matches that shape the weeks from first to last, with the mark of a final."""
    near = (first - IN_SEASON, last + IN_SEASON)
    return squad.fixtures.played_or_due().filter(day__range=near).select_related("final").order_by("kick_off")


def matches_of(fixtures: Iterable[Fixture]) -> Matches:
    fixtures = list(fixtures)
    return Matches([each.day for each in fixtures], {each.day for each in fixtures if hasattr(each, "final")})


def proposals_for(squad: Squad, mondays: Iterable[dt.date]) -> dict[dt.date, Proposal]:
    """For weeks that no pattern is on, by Monday; in two queries."""
    mondays = list(mondays)
    if not mondays:
        return {}
    return proposals_among(squad, matches_of(fixtures_near(squad, min(mondays), max(mondays) + LOOK_BACK)), mondays)


def proposals_among(squad: Squad, matches: Matches, mondays: Iterable[dt.date]) -> dict[dt.date, Proposal]:
    """`matches` should reach four weeks beyond the first and the last week."""
    fitting = {monday: fit for monday in mondays if (fit := matches.fitting(monday))}
    return {each.monday: each for each in proposals(squad, fitting)}


def proposals(squad: Squad, fitting: Mapping[dt.date, Fitting]) -> Iterator[Proposal]:
    """Of the club's patterns on offer; where several fit, the first in their order."""
    offered: dict[str, Pattern] = {}
    for pattern in Pattern.objects.filter(club=squad.club_id).on_offer().exclude(fits="") if fitting else ():
        offered.setdefault(pattern.fits, pattern)
    for monday, found in fitting.items():
        if pattern := offered.get(found.fit):
            yield Proposal(monday, pattern, why(found))


def why(found: Fitting) -> str:
    words = {"first": day_name(found.first), "last": day_name(found.last), "days": (found.last - found.first).days}
    return WHY[found.fit](found) % words


def _midweek(found: Fitting) -> str:
    return _("match on %(first)s") if found.first == found.last else _("matches on %(first)s and %(last)s")


WHY = {
    Fit.SHORT: lambda found: ngettext(
        "%(days)d day from the match on %(first)s to the next on %(last)s",
        "%(days)d days from the match on %(first)s to the next on %(last)s",
        (found.last - found.first).days,
    ),
    Fit.MIDWEEK: _midweek,
    Fit.BYE: lambda found: _("no match between %(first)s and %(last)s"),
    Fit.BEFORE_FESTIVAL: lambda found: _("tournament on %(first)s"),
    Fit.AFTER_FESTIVAL: lambda found: _("tournament on %(first)s"),
    Fit.THIRD_LAST: lambda found: _("final on %(first)s"),
    Fit.SECOND_LAST: lambda found: _("final on %(first)s"),
    Fit.LAST: lambda found: _("final on %(first)s"),
}


# What a week asks for, and how steep it is


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit of the week: what the contact rules say, what the pattern says, and the lower one, which holds."""

    what: str
    rules: int | None
    pattern: int | None
    holds: int | None


def limit_lines(rules: WeekLimits, pattern: Pattern | WeekPattern, holds: WeekLimits) -> list[LimitLine]:
    lines = [
        LimitLine(
            _("%(kind)s, min") % {"kind": KIND_WORDS[kind]},
            rules.minutes(kind),
            pattern.weekly.get(kind),
            holds.minutes(kind),
        )
        for kind in LIMITED
    ]
    lines.append(LimitLine(_("days with full contact"), rules.full_days, pattern.full_days, holds.full_days))
    return [line for line in lines if line.rules is not None or line.pattern is not None]


@dataclass(frozen=True, slots=True)
class Aim:
    """What a pattern would like of a week, beside what is planned. Nothing binds."""

    what: str
    planned: str
    wanted: str


def aims(days: Days, row: WeekPattern) -> list[Aim]:
    """Of the week that the pattern is on; aims that it does not have are left out."""
    wanted = [
        (_("defence, min"), defence_minutes(days, row.monday), row.defence_minutes),
        (_("touch and grip, the most of any player, min"), touch_minutes(days, row.monday), row.touch_minutes),
        (_("mean RPE"), mean_rpe(days, row.monday), row.mean_rpe),
    ]
    return [Aim(what, number(round(have, 1)), number(float(aim))) for what, have, aim in wanted if aim is not None]


def defence_minutes(days: Days, monday: dt.date) -> int:
    """Minutes of the slots in which drills stand."""
    slots = (slot for night in days.between(monday, monday + LOOK_BACK) for slot in night.slots.all())
    return sum(slot.minutes for slot in slots if slot.is_planned and slot.stations.all())


def touch_minutes(days: Days, monday: dt.date) -> int:
    found: Counter[int] = Counter()
    for night in days.between(monday, monday + LOOK_BACK):
        for slot in night.slots.all():
            for station in slot.stations.all():
                if station.drill.rung == TOUCH:
                    found.update(dict.fromkeys(station.standing, slot.minutes))
    return max(found.values(), default=0)


def mean_rpe(days: Days, monday: dt.date) -> float:
    """Of the minutes of which an RPE is known; stations side by side count as one with their mean."""
    load = minutes = 0.0
    for night in days.between(monday, monday + LOOK_BACK):
        for slot in night.slots.all():
            rpe = [station.drill.rpe for station in slot.stations.all()] if slot.is_planned else [slot.rpe]
            if sum(rpe):
                load, minutes = load + slot.minutes * sum(rpe) / len(rpe), minutes + slot.minutes
    return load / minutes if minutes else 0


def too_steep(days: Days, week: WeekTotals, pattern: Pattern | WeekPattern | None) -> list[str]:
    """Cautions where the plan, or the pattern, rises above the week before by more than a step.

    `days`, of which `week` is made, should hold the week before.
    """
    before = week_totals(days, week.monday - A_WEEK, week.by_player)
    return [*_of_plan(before, week), *_of_patterns(days.patterns.get(week.monday - A_WEEK), pattern)]


def _of_plan(before: WeekTotals, week: WeekTotals) -> Iterator[str]:
    risen: dict[Kind, list[float]] = {}
    for line in week.lines:
        if was := before.of(line.player.pk):
            here, there = ({f.kind: f.minutes for f in each.figures} for each in (line.week, was))
            for kind, much in rises(there, here, STEPS).items():
                risen.setdefault(kind, []).append(much)
    for kind, amounts in risen.items():
        text = ngettext(
            "%(kind)s rises by up to %(much)s min against the week before, for %(n)d player "
            "(house rule: by %(step)d at most).",
            "%(kind)s rises by up to %(much)s min against the week before, for %(n)d players "
            "(house rule: by %(step)d at most).",
            len(amounts),
        )
        words = {"kind": named(kind), "much": number(max(amounts)), "n": len(amounts), "step": STEPS[kind]}
        yield text % words


def _of_patterns(before: Figures | None, pattern: Pattern | WeekPattern | None) -> Iterator[str]:
    """Both weeks have a pattern that limits the kind."""
    if before is None or pattern is None:
        return
    there, here = before.weekly, pattern.weekly
    for kind, much in rises(there, {kind: most for kind, most in here.items() if kind in there}, STEPS).items():
        yield _(
            "The patterns allow %(much)s min more %(kind)s than the week before (house rule: %(step)d at most)."
        ) % {"kind": KIND_WORDS[kind], "much": number(much), "step": STEPS[kind]}


def named(kind: Kind) -> str:
    words = str(KIND_WORDS[kind])
    return words[:1].upper() + words[1:]


def day_name(day: dt.date) -> str:
    return date_format(day, "D j M")


@dataclass(frozen=True)
class WeekBox:
    """What stands above a week: the pattern on it with its aims, or the one that would fit; and cautions."""

    row: WeekPattern | None
    proposal: Proposal | None
    aims: tuple[Aim, ...]
    cautions: tuple[str, ...]
    is_past: bool


def box_of(days: Days, week: WeekTotals, today: dt.date) -> WeekBox:
    """`days` should hold the week before."""
    on = WeekPattern.objects.filter(squad=days.squad, monday=week.monday).select_related("put_by")
    row = on.first() if week.pattern else None
    is_past = week.sunday < today
    proposal = None if row or is_past else proposals_for(days.squad, [week.monday]).get(week.monday)
    cautions = too_steep(days, week, row)
    return WeekBox(row, proposal, tuple(aims(days, row)) if row else (), tuple(cautions), is_past)
