"""One player's contact over some weeks, for a parent, a coach, the union or an insurer: what, how much, who decided."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils import timezone

from planner.core.totals import LIMITED, Stretch
from planner.core.windows import PlayerWindows
from planner.declared import is_over
from planner.models import Fixture, Session
from planner.report_nights import NightRun, Step, nights_run, steps_of
from planner.totals import LOOK_BACK, WEEK, Totals
from planner.welfare_models import ActionTaken, Excess, PlaysElsewhere
from planner.windows import Told, lines_of, season_start, totals_with_told
from shared.core.contact import Kind, Level
from squads.core.eligibility import in_force
from squads.models import Clearance, ContactRules, Player


@dataclass(frozen=True)
class ReportWeek:
    """One week: everything that is limited, and the limits that applied with their documents."""

    windows: PlayerWindows
    rules: tuple[ContactRules, ...]

    @property
    def monday(self) -> dt.date:
        return self.windows.week.monday

    @property
    def sunday(self) -> dt.date:
        return self.monday + LOOK_BACK


@dataclass(frozen=True)
class UnderStatus:
    """A decision that restricts him, and the contact that stands on the days on which it held."""

    decision: Clearance
    last_day: dt.date | None
    contact: tuple[Stretch, ...]


@dataclass(frozen=True)
class Report:
    """`matches_open`: our matches of these weeks of which nobody has told his minutes."""

    player: Player
    today: dt.date
    weeks: tuple[ReportWeek, ...]
    excesses: tuple[Excess, ...]
    actions: tuple[ActionTaken, ...]
    statuses: tuple[UnderStatus, ...]
    steps: tuple[Step, ...]
    nights: tuple[NightRun, ...]
    elsewhere: tuple[PlaysElsewhere, ...]
    matches_open: tuple[Fixture, ...]

    @property
    def first_day(self) -> dt.date:
        return self.weeks[0].monday

    @property
    def last_day(self) -> dt.date:
        return self.weeks[-1].sunday

    @property
    def latest_first(self) -> list[ReportWeek]:
        return list(reversed(self.weeks))

    @property
    def sums(self) -> list[tuple[Kind, float]]:
        """Minutes of each kind over all weeks of the report."""
        figures = [each.windows.week for each in self.weeks]
        return [(kind, sum(week.figure(kind).hundredths for week in figures) / 100) for kind in LIMITED]


def report_of(player: Player, last_monday: dt.date, weeks: int, today: dt.date) -> Report:
    """So many weeks up to that one, in a fixed number of queries. The player's squad and club should be fetched."""
    first = last_monday - (weeks - 1) * WEEK
    season = season_start(player.squad, last_monday + LOOK_BACK)
    totals, told = totals_with_told(player.squad, first, weeks, today, season, only=player)
    asked = Excess.objects.filter(player=player, monday__range=(first, last_monday))
    return Report(
        player,
        today,
        tuple(weeks_of(totals, told, player, season)),
        tuple(asked.with_answers()),
        tuple(ActionTaken.objects.filter(player=player, monday__range=(first, last_monday))),
        tuple(statuses_of(totals, player)),
        tuple(steps_of(player, last_monday + LOOK_BACK, today)),
        tuple(nights_run(nights_of(totals, player))),
        tuple(PlaysElsewhere.objects.filter(player=player)),
        tuple(matches_untold(totals, told, player, timezone.now())),
    )


def weeks_of(totals: Totals, told: Told, player: Player, season: dt.date) -> Iterator[ReportWeek]:
    for week in totals.weeks:
        his = next((line for line in lines_of(week, told.matches, season) if line.player == player), None)
        if his:
            yield ReportWeek(his.windows, week.rules)


def matches_untold(totals: Totals, told: Told, player: Player, now: dt.datetime) -> Iterator[Fixture]:
    first, last = totals.weeks[0].monday, totals.weeks[-1].sunday
    for fixture in totals.days.fixtures:
        is_his = first <= fixture.day <= last and player.is_in_squad_on(fixture.day)
        if is_his and is_over(fixture, now) and not told.is_of_match(player.pk, fixture):
            yield fixture


def statuses_of(totals: Totals, player: Player) -> Iterator[UnderStatus]:
    """Decisions that restrict him on some day of the report, each with the contact of those days."""
    rows = totals.days.clearances.get(player.pk, [])
    decisions = [row.as_decision() for row in rows]
    first, last = totals.weeks[0].monday, totals.weeks[-1].sunday
    held: dict[int, list[dt.date]] = {}
    for day in (first + dt.timedelta(days=n) for n in range((last - first).days + 1)):
        found = in_force(day, decisions)
        if found is not None and found.level is not Level.FULL:
            held.setdefault(decisions.index(found), []).append(day)
    stretches = [s for week in totals.of(player.pk) for figure in week.figures for s in figure.stretches]
    for place, days in held.items():
        contact = (s for s in stretches if s.day in days and (s.counted or s.is_not_allowed))
        yield UnderStatus(rows[place], None if days[-1] == last else days[-1], tuple(contact))


def nights_of(totals: Totals, player: Player) -> Iterator[Session]:
    """The nights on which he stands somewhere, the latest first."""
    stood = {s.session for week in totals.of(player.pk) for figure in week.figures for s in figure.stretches}
    return (session for session in reversed(totals.days.sessions) if session.pk in stood)
