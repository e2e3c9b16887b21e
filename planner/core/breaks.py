"""Breaks of a season, in which no session is laid out: those found in a list or a calendar against known ones."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from planner.core.calendar import Stretch
from planner.core.laying_out import Break, Night

# Of a day without its year; the year is added before it is read, so that 29 February is found in a leap year.
IN_LETTERS = ("%d %b", "%d %B", "%b %d", "%B %d")
WITHOUT_YEAR = (*IN_LETTERS, "%d/%m", "%d.%m", "%d-%m")
MONTH_FIRST_WITHOUT_YEAR = (*IN_LETTERS, "%m/%d", "%m.%d", "%m-%d")


def why_off(day: dt.date, breaks: Iterable[Break]) -> str:
    """The name of the first break that holds the day, "" if none does."""
    return next((gap.name for gap in breaks if day in gap.days), "")


def within(days: Stretch, season: Stretch) -> Stretch | None:
    """The part of the days that lies in the season."""
    if not days.meets(season):
        return None
    return Stretch(max(days.first, season.first), min(days.last, season.last))


def days_without_year(text: str, season: Stretch, *, month_first: bool = False) -> list[dt.date]:
    """The days of the season that "26 Oct", "Oct 26", "26/10" or "26.10." may mean; in numbers the day comes before the
    month unless `month_first`."""
    text = re.sub(r"[.,]+$", "", text.strip())
    years = range(season.first.year, season.last.year + 1)
    forms = MONTH_FIRST_WITHOUT_YEAR if month_first else WITHOUT_YEAR
    found = {day for year in years for form in forms if (day := _read(f"{text} {year}", f"{form} %Y"))}
    return sorted(day for day in found if day in season)


def _read(text: str, form: str) -> dt.date | None:
    try:
        return dt.datetime.strptime(text, form).date()
    except ValueError:
        return None


# Found ones against known ones


def repeated(found: Sequence[Break]) -> dict[int, int]:
    """The places of those that say again what one before them says, with the place of that one.

    They say the same if they have one UID, or one name and the same days.
    """
    first: dict[object, int] = {}
    again: dict[int, int] = {}
    for place, gap in enumerate(found):
        keys = [key for key in (gap.uid, (gap.name.casefold(), gap.days)) if key]
        earlier = next((first[key] for key in keys if key in first), None)
        if earlier is None:
            first |= dict.fromkeys(keys, place)
        else:
            again[place] = earlier
    return again


def recognised(found: Sequence[Break], known: Sequence[Break]) -> list[Break | None]:
    """For each found break the known one that it is, None if it is a new one; no known one twice.

    By the UID; else by name and days; else, where not both have a UID of their own, by the same days, or by the same
    name if the days meet. So a break that grows by a day is the same, and half term in autumn is not that in spring.
    Taking over what was found and asking again finds every one unchanged, if none of `found` is repeated.
    """
    left = list(known)
    pairs: list[Break | None] = [None] * len(found)
    for alike in (_same_uid, _same_words, _near_enough):
        for place, gap in enumerate(found):
            if pairs[place] is None:
                pairs[place] = next((other for other in left if alike(gap, other)), None)
                left = [other for other in left if other is not pairs[place]]
    return pairs


def _same_uid(one: Break, other: Break) -> bool:
    return bool(one.uid) and one.uid == other.uid


def _same_words(one: Break, other: Break) -> bool:
    return one.name.casefold() == other.name.casefold() and one.days == other.days


def _near_enough(one: Break, other: Break) -> bool:
    if one.uid and other.uid:
        return False
    same_name = one.name.casefold() == other.name.casefold()
    return one.days == other.days or (same_name and one.days.meets(other.days))


def taken_over(gap: Break, known: Break | None) -> Break:
    """The known break as the found one says; it keeps its own UID."""
    return replace(gap, key=known.key, uid=known.uid or gap.uid) if known else gap


# Public holidays


@dataclass(frozen=True, slots=True)
class Offered:
    """A public holiday: `nights`: the keys of those that would be on it. `chosen`: it is a break already.

    `inside`: the name of another break that holds the day.
    """

    gap: Break
    nights: tuple[int, ...]
    chosen: bool
    inside: str


def offered(holidays: Iterable[Break], nights: Sequence[Night], known: Sequence[Break]) -> list[Offered]:
    """Those on which a night would be come first; both parts in the order of time. Each holiday is one day."""
    chosen = {gap.uid for gap in known if gap.uid}
    found = [
        Offered(
            holiday,
            tuple(night.key for night in nights if is_on(night, holiday.days.first)),
            holiday.uid in chosen,
            why_off(holiday.days.first, [gap for gap in known if gap.uid != holiday.uid]),
        )
        for holiday in holidays
    ]
    return sorted(found, key=lambda each: (not each.nights, each.gap.days.first))


def is_on(night: Night, day: dt.date) -> bool:
    return day.weekday() == night.weekday and day in night.days


def with_chosen(known: Sequence[Break], holidays: Sequence[Break], uids: Iterable[str]) -> list[Break]:
    """The breaks once these of the holidays are chosen and the others of them are not.

    One that is a break already stays as it is; breaks that are none of the holidays stay in any case.
    """
    wanted = set(uids)
    offered_here = {holiday.uid for holiday in holidays}
    kept = [gap for gap in known if gap.uid not in offered_here or gap.uid in wanted]
    there = {gap.uid for gap in kept}
    return [*kept, *(each for each in holidays if each.uid in wanted - there)]
