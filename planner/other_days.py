"""Other days of the week for a session that a match has landed on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass

from planner.building.house_rules import CLOSE_TO_A_MATCH
from planner.core.calendar import match_distance, week_of
from planner.models import Break, Session
from shared.core.contact import Level
from squads.core.eligibility import WORDS, Ceiling, by_matches
from squads.models import ContactRules

OFFERED = 3


@dataclass(frozen=True, slots=True)
class OtherDay:
    """A free day, how it lies to the match, and the most that may be done on it."""

    day: dt.date
    label: str
    level: Level

    @property
    def allows(self) -> str:
        return WORDS[self.level]


def other_days(session: Session, match_days: Collection[dt.date], today: dt.date) -> list[OtherDay]:
    """Days of the session's week, from today on, without match, training or break.

    Those that allow the most contact come first, among these the nearest.
    """
    week, matches = week_of(session.day), sorted(set(match_days))
    taken = {*matches, *session.squad.sessions.filter(day__range=(week.first, week.last)).values_list("day", flat=True)}
    days = (week.first + dt.timedelta(days=n) for n in range(7))
    free = [day for day in days if day >= today and day not in taken and not in_a_break(session, day)]
    rules = ContactRules.objects.in_force(session.squad, session.day)
    found = []
    for day in free:
        ceilings = by_matches(day, matches, rules.match_rules if rules else CLOSE_TO_A_MATCH)
        lowest = min(ceilings, key=lambda each: each.level.height, default=Ceiling(Level.FULL, ""))
        found.append(OtherDay(day, str(match_distance(day, matches)), lowest.level))
    found.sort(key=lambda each: (-each.level.height, abs((each.day - session.day).days), each.day))
    return found[:OFFERED]


def in_a_break(session: Session, day: dt.date) -> bool:
    return Break.objects.filter(season__squad=session.squad_id, first_day__lte=day, last_day__gte=day).exists()
