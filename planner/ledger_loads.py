"""One player's loads as a page shows them: day by day with what is missing, week by week, and how weeks compare."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from planner.core.load import CHRONIC_DAYS, Deviation, Measured, Missing
from planner.core.load_gaps import Lack, lacks_of, load_with
from planner.core.load_weeks import LoadWeek, Ratios, daily_series, load_weeks, ratios_on
from planner.core.rpe import Did
from planner.core.totals import ONE_DAY, monday_of
from planner.rpe_days import done_on
from planner.unconfirmed import NotTold, Open
from squads.models import Player

ByDay = Mapping[dt.date, Mapping[str, Did]]


@dataclass(frozen=True, slots=True)
class LoadDay:
    """`did` by the name of the night or match; `lacks` is what keeps the day from having a load. `is_unconfirmed`:
    minutes of a night are in it as they were planned, since nobody has confirmed it in 48 hours."""

    day: dt.date
    load: Measured
    did: Mapping[str, Did]
    lacks: tuple[Lack, ...]

    @property
    def is_known(self) -> bool:
        return not isinstance(self.load, Missing)

    @property
    def is_unconfirmed(self) -> bool:
        return any(did.is_planned for did in self.did.values())


@dataclass(frozen=True)
class ShownWeek:
    """`ratios` are as of the last of its days; `unsure`: whether a day that is not confirmed is among the 28 days up to
    it, and among all days up to it, which the weighted one looks at."""

    figures: LoadWeek
    ratios: Ratios
    days: tuple[LoadDay, ...]
    unsure: tuple[bool, bool] = (False, False)

    @property
    def monday(self) -> dt.date:
        return self.figures.monday

    @property
    def last_day(self) -> dt.date:
        return self.days[-1].day

    @property
    def is_unconfirmed(self) -> bool:
        return any(day.is_unconfirmed for day in self.days)


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
    player: Player,
    season: dt.date,
    first_monday: dt.date,
    last: dt.date,
    today: dt.date,
    deviation: Deviation,
    still_open: Open,
) -> PlayerLoads:
    """The weeks from a Monday up to a day, in three queries. The days behind them begin with the season, as ratios and
    means of many days ask for it, or later: with the first week of which anything is known. `still_open` of all of
    these days."""
    joined = max(season, player.joined or season)
    did = {
        day: still_open.with_planned(player.pk, day, done)
        for (_player, day), done in done_on(Player.objects.filter(pk=player.pk), joined, last).items()
    }
    last = last_counted(did, last, today)
    if not did:
        return PlayerLoads((), deviation, None)
    first = monday_of(min(did))
    weeks = shown_weeks(first, last, did, still_open.not_told(first, last), deviation, first_monday)
    return PlayerLoads(tuple(weeks), deviation, first)


def last_counted(did: ByDay, last: dt.date, today: dt.date) -> dt.date:
    """A day without anything is one of rest only once it is over."""
    return last if last < today or today in did else today - ONE_DAY


def shown_weeks(
    first: dt.date, last: dt.date, did: ByDay, open_on: NotTold, deviation: Deviation, from_monday: dt.date
) -> Iterator[ShownWeek]:
    """Those from a Monday on, in order, reckoned from all days."""
    days = {day: load_day(day, did.get(day, {}), open_on.get(day, ())) for day in did.keys() | open_on.keys()}
    told = {day: None if isinstance(each.load, Missing) else each.load for day, each in days.items()}
    series = daily_series(first, last, told)
    unsure = [day for day, each in days.items() if each.is_unconfirmed]
    begins = max(first, from_monday)
    weeks = load_weeks(begins, series[(begins - first).days :], deviation, None)
    ends = [(week.monday - first).days + len(week.days) - 1 for week in weeks]
    for week, ratios in zip(weeks, ratios_on(series, ends), strict=True):
        seven = (week.monday + n * ONE_DAY for n in range(len(week.days)))
        shown = tuple(days.get(day) or LoadDay(day, 0.0, {}, ()) for day in seven)
        yield ShownWeek(week, ratios, shown, unsure_before(unsure, shown[-1].day))


def unsure_before(unsure: Collection[dt.date], last: dt.date) -> tuple[bool, bool]:
    """Whether one of the 28 days up to the last one is among them, and any day up to it."""
    return any(0 <= (last - day).days < CHRONIC_DAYS for day in unsure), any(day <= last for day in unsure)


def load_day(day: dt.date, did: Mapping[str, Did], open_on: Sequence[str]) -> LoadDay:
    lacks = lacks_of(did, open_on)
    return LoadDay(day, load_with(did, lacks), did, lacks)
