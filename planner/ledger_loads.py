"""One player's loads as a page shows them: day by day with what is missing, week by week, and how weeks compare."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Exists, OuterRef, Value
from django.utils import timezone

from planner.core.load import Deviation, Measured, Missing
from planner.core.load_gaps import Lack, lacks_of, load_with
from planner.core.load_weeks import LoadWeek, Ratios, daily_series, load_weeks, ratios_on
from planner.core.rpe import Did
from planner.core.totals import ONE_DAY, monday_of
from planner.models import Fixture, FixtureState, Session
from planner.record_models import MatchMinutes
from planner.rpe_days import done_on
from planner.rpe_models import occasion_name
from squads.models import Player, Squad

ByDay = Mapping[dt.date, Mapping[str, Did]]
NotTold = Mapping[dt.date, Sequence[str]]


@dataclass(frozen=True, slots=True)
class LoadDay:
    """`did` by the name of the night or match; `lacks` is what keeps the day from having a load."""

    day: dt.date
    load: Measured
    did: Mapping[str, Did]
    lacks: tuple[Lack, ...]

    @property
    def is_known(self) -> bool:
        return not isinstance(self.load, Missing)


@dataclass(frozen=True)
class ShownWeek:
    """`ratios` are as of the last of its days."""

    figures: LoadWeek
    ratios: Ratios
    days: tuple[LoadDay, ...]

    @property
    def monday(self) -> dt.date:
        return self.figures.monday

    @property
    def last_day(self) -> dt.date:
        return self.days[-1].day


@dataclass(frozen=True)
class PlayerLoads:
    """`weeks` in order. `counted_from`: the Monday with which the days begin; None where nothing is known at all."""

    weeks: tuple[ShownWeek, ...]
    deviation: Deviation
    counted_from: dt.date | None

    @property
    def days(self) -> list[LoadDay]:
        return [day for week in self.weeks for day in week.days]

    @property
    def lacking(self) -> list[LoadDay]:
        """Days without a load, the latest first."""
        return [day for day in reversed(self.days) if day.lacks]

    @cached_property
    def latest_first(self) -> list[ShownWeek]:
        return list(reversed(self.weeks))


def loads_of(
    player: Player, season: dt.date, first_monday: dt.date, last: dt.date, today: dt.date, deviation: Deviation
) -> PlayerLoads:
    """The weeks from a Monday up to a day, in four queries. The days behind them begin with the season, as ratios and
    means of many days ask for it, or later: with the first week of which anything is known."""
    joined = max(season, player.joined or season)
    did = {day: done for (_player, day), done in done_on(Player.objects.filter(pk=player.pk), joined, last).items()}
    last = last_counted(did, last, today)
    if not did:
        return PlayerLoads((), deviation, None)
    first = monday_of(min(did))
    weeks = shown_weeks(first, last, did, not_told(player.squad, first, last), deviation, first_monday)
    return PlayerLoads(tuple(weeks), deviation, first)


def last_counted(did: ByDay, last: dt.date, today: dt.date) -> dt.date:
    """A day without anything is one of rest only once it is over."""
    return last if last < today or today in did else today - ONE_DAY


def not_told(squad: Squad, first: dt.date, last: dt.date) -> NotTold:
    """Nights that are begun and that nobody has confirmed, and matches of which nobody has told any minutes; in one
    query."""
    played, now = MatchMinutes.objects.filter(fixture=OuterRef("pk")), timezone.now()
    nights = Session.objects.filter(squad=squad, cancelled=False, confirmations=None, starts_at__lte=now)
    nights = nights.filter(day__range=(first, last))
    matches = Fixture.objects.filter(squad=squad, state=FixtureState.PLANNED, kick_off__lte=now)
    matches = matches.filter(day__range=(first, last))
    rows = nights.order_by().values_list("pk", "day", Value(True))
    unplayed = matches.exclude(Exists(played)).order_by().values_list("pk", "day", Value(False))
    both = rows.union(unplayed, all=True).order_by()
    found: dict[dt.date, list[str]] = defaultdict(list)
    for key, day, is_night in both:
        found[day].append(occasion_name(key if is_night else None, key))
    return found


def shown_weeks(
    first: dt.date, last: dt.date, did: ByDay, open_on: NotTold, deviation: Deviation, from_monday: dt.date
) -> Iterator[ShownWeek]:
    """Those from a Monday on, in order, reckoned from all days."""
    days = {day: load_day(day, did.get(day, {}), open_on.get(day, ())) for day in did.keys() | open_on.keys()}
    told = {day: None if isinstance(each.load, Missing) else each.load for day, each in days.items()}
    series = daily_series(first, last, told)
    begins = max(first, from_monday)
    weeks = load_weeks(begins, series[(begins - first).days :], deviation, None)
    ends = [(week.monday - first).days + len(week.days) - 1 for week in weeks]
    for week, ratios in zip(weeks, ratios_on(series, ends), strict=True):
        seven = (week.monday + n * ONE_DAY for n in range(len(week.days)))
        yield ShownWeek(week, ratios, tuple(days.get(day) or LoadDay(day, 0.0, {}, ()) for day in seven))


def load_day(day: dt.date, did: Mapping[str, Did], open_on: Sequence[str]) -> LoadDay:
    lacks = lacks_of(did, open_on)
    return LoadDay(day, load_with(did, lacks), did, lacks)
