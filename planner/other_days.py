"""Other days of the week for a session that a match has landed on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass

from planner.building.house_rules import CLOSE_TO_A_MATCH
from planner.core.calendar import Stretch, match_distance, week_of
from planner.models import Break, Session
from shared.core.contact import Level
from squads.core.eligibility import WORDS, by_matches, lowest
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
    breaks = breaks_in(session, week)
    free = [day for day in days if day >= today and day not in taken and not any(day in each for each in breaks)]
    in_force = ContactRules.objects.in_force(session.squad, session.day)
    rules = in_force.match_rules if in_force else CLOSE_TO_A_MATCH
    found = [
        OtherDay(day, str(match_distance(day, matches)), lowest(by_matches(day, matches, rules)).level) for day in free
    ]
    found.sort(key=lambda each: (-each.level.height, abs((each.day - session.day).days), each.day))
    return found[:OFFERED]


def breaks_in(session: Session, week: Stretch) -> list[Stretch]:
    rows = Break.objects.filter(season__squad=session.squad_id, first_day__lte=week.last, last_day__gte=week.first)
    return [Stretch(row.first_day, row.last_day) for row in rows]
