"""What day and moment it is at a club, and what a clock shows where something happens: never the server's."""

from __future__ import annotations

import datetime as dt
from typing import TypedDict

from django.utils import timezone

from shared.models import Club


def today_at(club: Club) -> dt.date:
    return timezone.localdate(timezone=club.tzinfo)


class Clock(TypedDict):
    """The day at a club, and the moment; None: before anything of that day has begun."""

    today: dt.date
    now: dt.datetime | None


def clock_at(club: Club, today: dt.date | None = None, now: dt.datetime | None = None) -> Clock:
    """What is given, else what the clock says. A moment of another day than `today` is not looked at."""
    if today is None:
        today, now = today_at(club), now or timezone.now()
    is_of_today = now is not None and now.astimezone(club.tzinfo).date() == today
    return Clock(today=today, now=now if is_of_today else None)


class WallTime(dt.datetime):
    """A moment by the clock of the place where it happens. A template shows it so, and not by the page's clock."""

    convert_to_local_time = False  # where Django looks before it puts a moment into the zone of the page

    @classmethod
    def of(cls, moment: dt.datetime, zone: dt.tzinfo) -> WallTime:
        at = moment.astimezone(zone)
        return cls(at.year, at.month, at.day, at.hour, at.minute, at.second, at.microsecond, zone, fold=at.fold)
