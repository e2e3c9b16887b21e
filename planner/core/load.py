"""Training load from session RPE: a description of what was done, never a risk, a forecast or a verdict.

Unit: AU (arbitrary units), RPE on Foster's CR-10 scale (0 rest to 10 maximal) times minutes.
Source: Foster et al. 2001, J Strength Cond Res 15(1):109-115, and Foster 1998, Med Sci Sports Exerc 30(7):1164-1168.

Missing is missing, never zero. A day of rest is 0; a day whose load nobody knows is `Missing.NOT_KNOWN`, and what
depends on it is not known either. Each function says exactly how far that reaches. Nothing is ever infinite: a
figure that would divide by zero is `Missing.UNDEFINED`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

ACUTE_DAYS, CHRONIC_DAYS = 7, 28
JUMP_WEEKS, JUMP_LEAST = 4, 3


class Missing(StrEnum):
    """Why there is no figure."""

    NOT_KNOWN = "not known"  # something that it depends on was not recorded
    UNDEFINED = "undefined"  # everything is known, but it would divide by zero
    TOO_EARLY = "too early"  # not enough days lie behind it yet


Measured = float | Missing


class Deviation(StrEnum):
    """Which standard deviation monotony divides by.

    Foster does not say. POPULATION is the default here: it is the only one that gives the monotony printed in the
    one published example (1.26; see tests/published/test_foster_2001.py), and the seven days are all days of the
    week, not a sample of them. SAMPLE is what many spreadsheets take; over seven days it is lower by sqrt(6/7).
    """

    POPULATION = "population"
    SAMPLE = "sample"


class Form(StrEnum):
    """How the load of the last seven days is compared with that of the last 28."""

    COUPLED = "coupled"
    UNCOUPLED = "uncoupled"
    WEIGHTED = "weighted"


def session_load(rpe: float | None, minutes: float | None) -> Measured:
    """Load of one session for one player, AU: RPE x minutes (Foster 2001).

    `rpe` 0 to 10, `minutes` from 0; ValueError outside. Not known if either is None.
    """
    if rpe is None or minutes is None:
        return Missing.NOT_KNOWN
    if not 0 <= rpe <= 10:
        raise ValueError(f"RPE {rpe}: Foster's scale runs from 0 to 10")
    if not 0 <= minutes < math.inf:
        raise ValueError(f"{minutes} minutes: a session lasts 0 minutes or more")
    return float(rpe * minutes)


def daily_load(sessions: Iterable[Measured]) -> Measured:
    """Load of a day, AU: the sum of its sessions (common practice, after Foster 1998).

    A day without a session is a day of rest: 0. One session that is not known makes the day not known.
    """
    return total(sessions)


def weekly_load(days: Sequence[Measured]) -> Measured:
    """Load of the seven days from Monday to Sunday, AU: their sum. ValueError if they are not seven.

    One day that is not known makes the week not known.
    """
    if len(days) != 7:
        raise ValueError(f"a week has 7 days, not {len(days)}")
    return total(days)


def total(loads: Iterable[Measured]) -> Measured:
    """The sum, AU; 0 of none. Not known if one of them is."""
    known, all_known = known_of(loads)
    return math.fsum(known) if all_known else Missing.NOT_KNOWN


def known_of(loads: Iterable[Measured]) -> tuple[list[float], bool]:
    """The loads that are known, in order, and whether that is all of them."""
    loads = list(loads)
    known = [load for load in loads if not isinstance(load, Missing)]
    return known, len(known) == len(loads)


def monotony(loads: Sequence[Measured], deviation: Deviation = Deviation.POPULATION) -> Measured:
    """How alike the days of a week are, without unit: their mean / their standard deviation (Foster 1998).

    Not known if one day is not. Undefined where the deviation is zero: seven equal days, also seven of rest.
    Fewer than two loads are too early.
    """
    known, all_known = known_of(loads)
    if not all_known:
        return Missing.NOT_KNOWN
    if len(known) < 2:
        return Missing.TOO_EARLY
    mean = math.fsum(known) / len(known)
    spread = standard_deviation(known, mean, deviation)
    return mean / spread if spread else Missing.UNDEFINED


def standard_deviation(loads: Sequence[float], mean: float, deviation: Deviation) -> float:
    """In the unit of the loads; exactly 0 for equal ones, whatever their mean was rounded to."""
    if min(loads) == max(loads):
        return 0.0
    free = len(loads) - (deviation is Deviation.SAMPLE)
    return math.sqrt(math.fsum((load - mean) ** 2 for load in loads) / free)


def strain(loads: Sequence[Measured], deviation: Deviation = Deviation.POPULATION) -> Measured:
    """Load of the week x its monotony, AU (Foster 1998; Foster 2001, table 5). Missing where monotony is."""
    whole, alike = total(loads), monotony(loads, deviation)
    if isinstance(whole, Missing) or isinstance(alike, Missing):
        return alike
    return whole * alike


def rolling_ratio(days: Sequence[Measured], form: Form = Form.COUPLED) -> Measured:
    """Mean load of the last 7 days / mean load of a longer stretch, without unit. `days` end with the day asked for.

    Coupled: the last 28 days, those 7 among them (as written in Lolli et al. 2019, Br J Sports Med 53:921-922).
    Uncoupled: the 21 days before the 7 (Gabbett et al. 2019, Int J Sports Med 40:597-600; Windt & Gabbett 2019,
    Br J Sports Med 53:988). Between both U = 3C / (4 - C), and C never passes 4.

    With fewer than 28 days too early; not known if one of the last 28 is not; undefined if the long stretch is all
    rest. A description of recent against usual load, which is disputed as anything more.
    """
    if form is Form.WEIGHTED:
        raise ValueError("the weighted ratio has a function of its own")
    if len(days) < CHRONIC_DAYS:
        return Missing.TOO_EARLY
    known, all_known = known_of(days[-CHRONIC_DAYS:])
    if not all_known:
        return Missing.NOT_KNOWN
    usual = known if form is Form.COUPLED else known[:-ACUTE_DAYS]
    return ratio(math.fsum(known[-ACUTE_DAYS:]) / ACUTE_DAYS, math.fsum(usual) / len(usual))


def ratio(above: float, below: float) -> Measured:
    return above / below if below else Missing.UNDEFINED


def decay(days: int) -> float:
    """Weight of today in an exponentially weighted mean over N days: 2 / (N + 1).

    Williams, West, Cross & Stokes 2017, Br J Sports Med 51:209-210 (their N are 7 and 28).
    """
    return 2 / (days + 1)


def weighted_means(days: Sequence[Measured], over: int) -> list[Measured]:
    """The exponentially weighted mean load on each day, AU: decay x today + (1 - decay) x yesterday's mean.

    Williams et al. 2017. It starts with the load of the first day, which is a rule of this house, since the letter's
    own was not to be read. A day that is not known has no mean, and the next known day starts anew: nothing is put
    in its place.
    """
    weight, means = decay(over), list[Measured]()
    before: Measured = Missing.NOT_KNOWN
    for load in days:
        if isinstance(load, Missing) or isinstance(before, Missing):
            before = load
        else:
            before = weight * load + (1 - weight) * before
        means.append(before)
    return means


@dataclass(frozen=True, slots=True)
class Weighted:
    """A weighted ratio on a day. `is_warming_up`: fewer than 28 days lie behind it, and its start still shows."""

    value: Measured
    is_warming_up: bool


def weighted_ratio(days: Sequence[Measured]) -> Weighted:
    """Weighted mean load over 7 / over 28 days, without unit, on the last of the days (Williams et al. 2017).

    Not known if the last day is not; undefined if all since the start was rest; too early without a day. Marked as
    warming up on the 28 days from the start, and again on the 28 after a day that was not known.
    """
    return weighted_ratios(days)[-1] if days else Weighted(Missing.TOO_EARLY, True)


def weighted_ratios(days: Sequence[Measured]) -> list[Weighted]:
    """`weighted_ratio` as of each of the days, from one pass over them."""
    acute, chronic = weighted_means(days, ACUTE_DAYS), weighted_means(days, CHRONIC_DAYS)
    found, since = list[Weighted](), 0
    for above, below in zip(acute, chronic, strict=True):
        if isinstance(above, Missing) or isinstance(below, Missing):
            found.append(Weighted(Missing.NOT_KNOWN, True))
            since = 0
        else:
            since += 1
            found.append(Weighted(ratio(above, below), since <= CHRONIC_DAYS))
    return found


@dataclass(frozen=True, slots=True)
class Jump:
    """This week against those before it; `weeks` is how many of them are known and stand in the mean."""

    value: Measured
    weeks: int


def jump(this_week: Measured, before: Sequence[Measured]) -> Jump:
    """Load of this week / mean of the last four, without unit. `before`: weekly loads, oldest first.

    A rule of this house (common practice, no source). At least three of the four must be known; one that is not is
    left out of the mean, never counted as zero. Fewer than three weeks behind it: too early. Undefined after weeks
    of rest.
    """
    known, _all = known_of(before[-JUMP_WEEKS:])
    if len(before) < JUMP_LEAST:
        return Jump(Missing.TOO_EARLY, len(known))
    if len(known) < JUMP_LEAST or isinstance(this_week, Missing):
        return Jump(Missing.NOT_KNOWN, len(known))
    return Jump(ratio(this_week, math.fsum(known) / len(known)), len(known))
