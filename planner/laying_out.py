"""What laying out a season would do, night by night and week by week, before anything is made of it."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.core.calendar import Stretch, iso_week, monday_of, week_number
from planner.core.laying_out import Break, Calendar, ClockChange, Fate, Night, PatternDay, clock_changes, pattern_days
from planner.models import Fixture, Season, Session, TrainingNight
from planner.night_models import LayingOut
from planner.slot_plans import plans_in
from shared.clock import clock_at

# In the order in which they are told.
FELL_OUT = (Fate.OFF, Fate.MATCH, Fate.OUTSIDE, Fate.PAST, Fate.TAKEN)


@dataclass(frozen=True)
class Layout:
    """`days`: one for each night and week. `others`: what stands in the calendar already, by day.

    Sessions of the nights themselves are among the others, as far as they take place.
    """

    season: Season
    nights: dict[int, TrainingNight]
    days: tuple[PatternDay, ...]
    others: Mapping[dt.date, list[Session]]
    matches: Mapping[dt.date, list[Fixture]]
    unlike: Mapping[tuple[int, dt.date], Session]
    off: frozenset[dt.datetime] = frozenset()  # when called-off sessions would begin

    @classmethod
    def of(cls, season: Season, today: dt.date) -> Layout:
        """The season's squad and club should be fetched with it. In six queries."""
        nights = {night.pk: night for night in season.nights.all()}
        sessions = list(season.squad.sessions.with_length().filter(day__range=(season.first_day, season.last_day)))
        known = {each.pk for each in sessions}
        away = season.squad.sessions.with_length().filter(night__in=nights).exclude(pk__in=known)
        laid = {(s.night_id, monday_of(s.pattern_day)): s for s in (*sessions, *away) if s.night_id and s.pattern_day}
        fixtures = list(season.squad.fixtures.played_or_due())
        calendar = Calendar(
            season=Stretch(season.first_day, season.last_day),
            today=today,
            breaks=[Break(gap.name, Stretch(gap.first_day, gap.last_day)) for gap in season.breaks.all()],
            match_days={fixture.day for fixture in fixtures} if rests_on_match_days(season) else frozenset(),
            laid=laid.keys(),
            taken={session.starts_at for session in sessions},
            now=clock_at(season.squad.club, today, timezone.now())["now"],
        )
        return cls(
            season,
            nights,
            tuple(pattern_days([night_of(night, season) for night in nights.values()], calendar)),
            _by_day(session for session in sessions if not session.cancelled),
            _by_day(fixtures),
            {key: session for key, session in laid.items() if is_unlike_pattern(session)},
            frozenset(session.starts_at for session in sessions if session.cancelled),
        )

    @cached_property
    def new(self) -> list[PatternDay]:
        """In the order of time."""
        return sorted((each for each in self.days if each.fate is Fate.NEW), key=lambda each: each.starts_at)

    @cached_property
    def held_by_cancelled(self) -> int:
        """How many times of nights are held by a session that was called off."""
        return sum(each.fate is Fate.TAKEN and each.starts_at in self.off for each in self.days)

    @property
    def digest(self) -> str:
        """So that nobody lays out what he has not seen."""
        shown = repr((self.days, [(night.pk, night.template) for night in self.nights.values()]))
        return hashlib.sha256(shown.encode()).hexdigest()[:16]

    @cached_property
    def by_night(self) -> list[NightCounts]:
        groups = groupby(self.days, key=lambda each: each.night)
        return [NightCounts(self.nights[key], tuple(days)) for key, days in groups]

    @cached_property
    def weeks(self) -> list[LayoutWeek]:
        """Each with a cell for each night, in the order of the nights."""
        by_monday: dict[dt.date, dict[int, PatternDay]] = {}
        for each in self.days:
            by_monday.setdefault(monday_of(each.day), {})[each.night] = each
        return [
            LayoutWeek(
                monday,
                week_number(monday, self.season.first_day),
                iso_week(monday),
                [(self.nights[key], found[key], self.said(found[key])) for key in self.nights if key in found],
            )
            for monday, found in sorted(by_monday.items())
        ]

    def said(self, each: PatternDay) -> str:
        """What becomes of one day, in a few words."""
        if each.fate is Fate.STANDS:
            session = self.unlike.get((each.night, monday_of(each.day)))
            return _unlike_in_words(session) if session else _("stands already")
        if each.fate is Fate.OUTSIDE:
            return _outside(self.nights[each.night], self.season, each.day)
        return _SAID[each.fate]() if each.fate in _SAID else _("falls out: %(why)s") % {"why": each.why}

    # What meets what

    @cached_property
    def clashes(self) -> list[str]:
        """Sentences: at the very time of another session, beside one on the same day, or on the day of a match."""
        found = [*self._taken(), *self._beside(), *self._on_match_days()]
        return [text for _day, text in sorted(found, key=lambda entry: entry[0])]

    def _taken(self) -> Iterator[tuple[dt.date, str]]:
        for each in self.days:
            if each.fate is Fate.TAKEN:
                text = _("%(when)s: another session stands at that very time, perhaps a cancelled one. None is made.")
                yield each.day, text % {"when": when(each.starts_at)}

    def _beside(self) -> Iterator[tuple[dt.date, str]]:
        for each in self.new:
            minutes = sum(plan.minutes for plan in plans_in(self.nights[each.night].template))
            for other in self.others.get(each.day, []):
                words = {"when": when(each.starts_at), "other": clock_of(other, each), "minutes": other.minutes}
                if meets(each.starts_at, minutes, other.starts_at, other.minutes):
                    text = _("%(when)s: it runs into the session at %(other)s (%(minutes)d min). Both would stand.")
                else:
                    text = _("%(when)s: a session stands at %(other)s the same day. Both would stand.")
                yield each.day, text % words

    def _on_match_days(self) -> Iterator[tuple[dt.date, str]]:
        for each in self.new:
            for fixture in self.matches.get(each.day, []):
                text = _("%(when)s: the day of the match %(match)s. Training would be on a match day.")
                yield each.day, text % {"when": when(each.starts_at), "match": fixture.opponent}

    @cached_property
    def clocks(self) -> list[str]:
        """Sentences about new nights before or after which the clocks change."""
        new, found = {each.starts_at for each in self.new}, []
        for night in self.by_night:
            moments = [each.starts_at for each in night.days if each.fate in (Fate.NEW, Fate.STANDS)]
            changes = [change for change in clock_changes(moments) if {change.before, change.after} & new]
            found += [clock_change_told(change, night.night) for change in changes]
        return found


def _by_day(rows) -> dict[dt.date, list]:
    found: dict[dt.date, list] = {}
    for row in rows:
        found.setdefault(row.day, []).append(row)
    return found


def night_of(night: TrainingNight, season: Season) -> Night:
    return Night(night.pk, night.weekday, night.starts, night.days_in(season), night.zone)


def rests_on_match_days(season: Season) -> bool:
    return LayingOut.objects.filter(season=season, rests_on_match_days=True).exists()


def is_unlike_pattern(session: Session) -> bool:
    return session.cancelled or session.day != session.pattern_day


def meets(starts: dt.datetime, minutes: int, other: dt.datetime, other_minutes: int) -> bool:
    """Whether two sessions run at the same time for a while."""
    ends, other_ends = starts + dt.timedelta(minutes=minutes), other + dt.timedelta(minutes=other_minutes)
    return starts < other_ends and other < ends


@dataclass(frozen=True)
class NightCounts:
    """A night with its days: how many are new, stand, and fall out for which reason."""

    night: TrainingNight
    days: tuple[PatternDay, ...]

    @cached_property
    def counts(self) -> Counter[Fate]:
        return Counter(each.fate for each in self.days)

    @property
    def minutes(self) -> int:
        return sum(plan.minutes for plan in plans_in(self.night.template))

    @property
    def new(self) -> int:
        return self.counts[Fate.NEW]

    @property
    def stands(self) -> int:
        return self.counts[Fate.STANDS]

    @property
    def fallen_out(self) -> list[str]:
        """ "Half term: 1, match day: 2"; the commonest break first."""
        breaks = Counter(each.why for each in self.days if each.fate is Fate.OFF).most_common()
        others = [(_REASONS[fate](), self.counts[fate]) for fate in FELL_OUT[1:] if self.counts[fate]]
        return [_("%(why)s: %(count)d") % {"why": why, "count": count} for why, count in (*breaks, *others)]


@dataclass(frozen=True)
class LayoutWeek:
    monday: dt.date
    number: int
    iso: tuple[int, int]
    cells: list[tuple[TrainingNight, PatternDay, str]]


def _outside(night: TrainingNight, season: Season, day: dt.date) -> str:
    if day < season.first_day:
        return _("the season has not begun")
    if day > season.last_day:
        return _("the season is over")
    if night.first_day and day < night.first_day:
        return _("the night begins later")
    return _("the night has ended")


def _unlike_in_words(session: Session) -> str:
    if session.cancelled:
        return _("stands already, cancelled")
    return _("stands already, on %(day)s") % {"day": date_format(session.day, "D j M")}


_SAID = {
    Fate.NEW: lambda: _("new"),
    Fate.MATCH: lambda: _("falls out: match day"),
    Fate.PAST: lambda: _("past"),
    Fate.TAKEN: lambda: _("another session at that time"),
}
_REASONS = {
    Fate.MATCH: lambda: _("match day"),
    Fate.OUTSIDE: lambda: _("outside the season or its own days"),
    Fate.PAST: lambda: _("past"),
    Fate.TAKEN: lambda: _("another session at that time"),
}


def when(moment: dt.datetime) -> str:
    """`moment` in its own zone."""
    return f"{date_format(moment, 'D j M')}, {moment:%H:%M}"


def clock_of(other: Session, each: PatternDay) -> str:
    return f"{other.starts_at.astimezone(each.starts_at.tzinfo):%H:%M}"


def clock_change_told(change: ClockChange, night: TrainingNight) -> str:
    return _(
        "%(night)s: the clocks change between %(before)s (%(was)s UTC) and %(after)s (%(now)s UTC). "
        "It stays at %(clock)s by the clock on the wall."
    ) % {
        "night": night,
        "before": date_format(change.before, "D j M Y"),
        "after": date_format(change.after, "D j M Y"),
        "was": f"{change.before.astimezone(dt.UTC):%H:%M}",
        "now": f"{change.after.astimezone(dt.UTC):%H:%M}",
        "clock": f"{night.starts:%H:%M}",
    }


def in_all(layout: Layout) -> str:
    """The sentence at the head of the page."""
    new, weeks = len(layout.new), len({monday_of(each.day) for each in layout.new})
    if not new:
        return _("Nothing to add: every night from today on has its session or falls out.")
    return ngettext("%(new)d session in %(weeks)d week.", "%(new)d sessions in %(weeks)d weeks.", new) % {
        "new": new,
        "weeks": weeks,
    }
