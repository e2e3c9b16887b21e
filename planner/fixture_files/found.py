"""What a file says about matches, before it is compared with what the club knows."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from planner.columns import NOTHING_CHOSEN, Reading
from planner.core.calendar import Stretch, at_wall_time
from planner.models import Fixture, FixtureState

# Day and zone keep their meaning at noon, whatever the clocks do: it stands for a kick-off not known yet.
NOON = dt.time(12)
LONGEST_KEY = 255


@dataclass(frozen=True, slots=True)
class Wanted:
    """Whose matches are read. Times without a zone are meant in `zone`; `club` tells which side is ours.

    `reading`: the columns that the squad chose for its tables.
    """

    zone: ZoneInfo
    club: str
    seasons: tuple[Stretch, ...]
    reading: Reading = NOTHING_CHOSEN

    def has(self, day: dt.date) -> bool:
        return any(day in season for season in self.seasons)

    @property
    def first(self) -> dt.date:
        return min(season.first for season in self.seasons)

    @property
    def last(self) -> dt.date:
        return max(season.last for season in self.seasons)


@dataclass(frozen=True, slots=True)
class FoundMatch:
    """A match as its file tells it. "" and None: the file does not say."""

    where: str
    uid: str
    day: dt.date
    kick_off: dt.datetime | None
    opponent: str
    home: bool | None = None
    competition: str = ""
    venue: str = ""
    state: FixtureState | None = None

    @property
    def same_day_as(self) -> tuple[dt.date, str]:
        """Recognises a match that has no UID: nobody plays the same opponent twice on one day."""
        return self.day, self.opponent.casefold()

    @property
    def key(self) -> str:
        """What the fixture is kept under: the UID, or else day and opponent; a digest of it if that is too long."""
        key = self.uid or f"{self.day.isoformat()} {self.opponent.casefold()}"
        return key if len(key) <= LONGEST_KEY else hashlib.sha256(key.encode()).hexdigest()

    def moment(self, zone: ZoneInfo) -> dt.datetime:
        return self.kick_off or at_wall_time(self.day, NOON, zone)


@dataclass(frozen=True, slots=True)
class Refusal:
    """One event or row that is not taken, with the reason in the user's words."""

    where: str
    label: str
    reason: str
    column: str = ""


class Refused(Exception):
    """Raised while one event or row is read; the reader turns it into a Refusal and goes on with the next."""

    def __init__(self, reason: str, column: str = "") -> None:
        super().__init__(reason)
        self.reason, self.column = reason, column


@dataclass(frozen=True, slots=True)
class FoundFile:
    """Everything in a file, in its order. `origin`: how it was read, in words. `outside`: events of no season.

    `day_order_is_open`: its days are numbers that make sense with the month first, too, and nobody said which it is.
    """

    entries: tuple[FoundMatch | Refusal, ...]
    origin: str
    outside: int = 0
    is_table: bool = False
    day_order_is_open: bool = False


def cut(text: str, field: str) -> str:
    """The text on one line, as long as the fixture's field allows; "…" marks what was cut off."""
    most = Fixture._meta.get_field(field).max_length
    text = " ".join(text.split())
    return text if len(text) <= most else f"{text[: most - 1]}…"


def no_season_has(day: dt.date, wanted: Wanted) -> str:
    return _("%(day)s lies in no season of the squad (%(first)s to %(last)s). Check the year.") % {
        "day": day.isoformat(),
        "first": wanted.first.isoformat(),
        "last": wanted.last.isoformat(),
    }
