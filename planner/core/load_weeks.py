"""One player's loads day by day and week by week, as a page shows them: description only."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from planner.core.load import (
    Deviation,
    Form,
    Jump,
    Measured,
    Missing,
    Weighted,
    jump,
    known_of,
    monotony,
    rolling_ratio,
    strain,
    weekly_load,
    weighted_ratio,
    weighted_ratios,
)
from planner.core.totals import ONE_DAY, monday_of


def daily_series(
    first: dt.date,
    last: dt.date,
    told: Mapping[dt.date, float | None],
    unsure: Collection[dt.date] = (),
) -> list[Measured]:
    """Load of each day from first to last, AU. `told`: days on which he trained or played, None where without a load.

    A day that is told without a load, or is among the `unsure` (nobody has said yet whether he did anything), is not
    known. Every other day is one of rest: 0.
    """
    return [load_on(day, told, unsure) for day in (first + n * ONE_DAY for n in range((last - first).days + 1))]


def load_on(day: dt.date, told: Mapping[dt.date, float | None], unsure: Collection[dt.date]) -> Measured:
    load = told.get(day)
    if load is not None:
        return load
    return Missing.NOT_KNOWN if day in told or day in unsure else 0.0


@dataclass(frozen=True, slots=True)
class LoadWeek:
    """A week from Monday to Sunday, or as much of it as has been. `load` is that of the whole week.

    `ratio` is as of its last day, with whether it is still warming up; None where the club shows none.
    """

    monday: dt.date
    days: tuple[Measured, ...]
    load: Measured
    monotony: Measured
    strain: Measured
    jump: Jump
    ratio: Weighted | None

    @property
    def is_over(self) -> bool:
        return len(self.days) == 7

    @property
    def so_far(self) -> float:
        """What is known of it, AU."""
        return sum(known_of(self.days)[0])

    @property
    def days_not_known(self) -> int:
        return len(self.days) - len(known_of(self.days)[0])


def load_weeks(first: dt.date, days: Sequence[Measured], deviation: Deviation, form: Form | None) -> list[LoadWeek]:
    """The weeks of days in a row that begin with `first`, oldest first; one that the days do not begin is left out."""
    start = -first.weekday() % 7
    found: list[LoadWeek] = []
    for at in range(start, len(days), 7):
        seven = days[at : at + 7]
        before = [week.load for week in found]
        ratio = ratio_on(days[: at + len(seven)], form)
        found.append(load_week(monday_of(first + at * ONE_DAY), seven, before, deviation, ratio))
    return found


def load_week(
    monday: dt.date, seven: Sequence[Measured], before: Sequence[Measured], deviation: Deviation, ratio: Weighted | None
) -> LoadWeek:
    if len(seven) < 7:
        early = Missing.TOO_EARLY
        return LoadWeek(monday, tuple(seven), early, early, early, Jump(early, 0), ratio)
    load = weekly_load(seven)
    return LoadWeek(
        monday,
        tuple(seven),
        load,
        monotony(seven, deviation),
        strain(seven, deviation),
        jump(load, before),
        ratio,
    )


def ratio_on(days: Sequence[Measured], form: Form | None) -> Weighted | None:
    """As of the last of the days; a rolling ratio has no time to warm up: before 28 days there is none."""
    if form is None:
        return None
    return weighted_ratio(days) if form is Form.WEIGHTED else Weighted(rolling_ratio(days, form), is_warming_up=False)


@dataclass(frozen=True, slots=True)
class Ratios:
    """Load of the last 7 days against that of the last 28, in each form, as of one day; without unit."""

    coupled: Measured
    uncoupled: Measured
    weighted: Weighted


def ratios_on(days: Sequence[Measured], places: Iterable[int]) -> Iterator[Ratios]:
    """As of the days at these places, counted from 0."""
    weighted = weighted_ratios(days)
    for at in places:
        until = days[: at + 1]
        yield Ratios(rolling_ratio(until, Form.COUPLED), rolling_ratio(until, Form.UNCOUPLED), weighted[at])
