"""The figures of `load` for many players at once: whole tables of days x players, by numpy.

A table holds one row for each day, in order, and one column for each player, in AU; nan is a load that is not known.
Every figure is nan where `load` has none, for whichever reason. Source, unit and rules of each stand there.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.core.load import ACUTE_DAYS, CHRONIC_DAYS, Deviation, decay

Table = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Loads:
    """Everything that is kept of a table of daily loads; each of days x players, `weekly` of weeks x players.

    `warming_up` marks days on which the weighted ratio is still young.
    """

    acute: Table
    chronic: Table
    coupled: Table
    weighted: Table
    warming_up: npt.NDArray[np.bool_]
    weekly: Table


def loads_of(daily: Table, first: dt.date) -> Loads:
    """All figures of the table whose first row is the day `first`."""
    sevens, count = sums_of_seven(daily), days_since_start(daily)
    acute, chronic = sevens / ACUTE_DAYS, sums_of_28(sevens) / CHRONIC_DAYS
    weighted = ratio(weighted_means(daily, ACUTE_DAYS), weighted_means(daily, CHRONIC_DAYS))
    return Loads(
        acute,
        chronic,
        ratio(acute, chronic),
        weighted,
        count <= CHRONIC_DAYS,
        sevens[first_monday(first) + 6 :: 7],
    )


def daily_loads(player: Whole, day: Whole, load: Table, players: int, days: int) -> Table:
    """Sum of session loads by day and player. Cells without a session are rest: 0; one nan makes its cell nan."""
    sums = np.bincount(day * players + player, weights=load, minlength=days * players)
    return sums.astype(np.float64, copy=False).reshape(days, players)


def before(table: Table, days: int) -> Table:
    """The same, so many days later: what stood there so many days before, and nan on the first of them."""
    moved = np.full_like(table, np.nan)
    moved[days:] = table[: len(table) - days] if days < len(table) else table[:0]
    return moved


def sums_of_seven(daily: Table) -> Table:
    """Sum of each day and the six before. Added up, not taken from a running total: nan stays within its window,
    and a window of rest is exactly 0."""
    two = daily + before(daily, 1)
    four = two + before(two, 2)
    return four + before(two, 4) + before(daily, 6)


def sums_of_28(sevens: Table) -> Table:
    two = sevens + before(sevens, 7)
    return two + before(two, 14)


def first_monday(first: dt.date) -> int:
    """Row of the Monday with which the first whole week of the table begins."""
    return -first.weekday() % 7


def ratio(above: Table, below: Table) -> Table:
    """nan where `below` is 0 or either is nan."""
    return np.divide(above, below, out=np.full_like(above, np.nan), where=below > 0)


def uncoupled_ratio(sevens: Table) -> Table:
    prior = before(sevens, 7) + before(sevens, 14) + before(sevens, 21)
    return ratio(sevens, prior / 3)


def weighted_means(daily: Table, over: int) -> Table:
    """A day after nan starts anew with its own load."""
    weight = decay(over)
    means = daily * weight
    means[:1] = daily[:1]
    for day in range(1, len(daily)):
        yesterday = means[day - 1]
        means[day] += (1 - weight) * yesterday
        anew = np.isnan(yesterday)
        if anew.any():
            means[day, anew] = daily[day, anew]
    return means


def days_since_start(daily: Table) -> Whole:
    """Known days without a gap that end with each day; 0 where the day is not known."""
    day = np.arange(1, len(daily) + 1, dtype=np.intp)[:, None]
    last_gap = np.maximum.accumulate(np.where(np.isnan(daily), day, 0), axis=0)
    since: Whole = day - last_gap
    return since


def monotony(daily: Table, first: dt.date, deviation: Deviation) -> Table:
    """Of each whole week from Monday to Sunday: mean / standard deviation of its seven days."""
    start = first_monday(first)
    weeks = daily[start : start + (len(daily) - start) // 7 * 7].reshape(-1, 7, daily.shape[1])
    spread = weeks.std(axis=1, ddof=int(deviation is Deviation.SAMPLE))
    return ratio(weeks.mean(axis=1), np.where(weeks.min(axis=1) == weeks.max(axis=1), 0, spread))
