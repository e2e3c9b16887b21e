"""A file of fixtures against what the club knows: a preview, and the rows that confirming it would write.

A match is recognised by its UID, or by its day and opponent. What a file leaves out stays as it is; in particular a
match called off by hand stays off unless the file confirms it or moves it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.break_files.found import FoundBreaks
from planner.column_models import FixtureColumns
from planner.core.calendar import Stretch, at_wall_time
from planner.fixture_files import ics, table
from planner.fixture_files.found import FoundFile, FoundMatch, Refusal, Wanted
from planner.models import Fixture, FixtureState
from planner.venue_models import Venue, Where
from shared.preview import Change, Line, Preview, State
from shared.tables import Unreadable
from squads.models import Squad

NEAR = dt.timedelta(days=28)  # a match moved further than this is taken for another one
FIELDS = ("uid", "kick_off", "all_day", "opponent", "home", "competition", "venue", "venue_words", "state")


@dataclass(frozen=True, slots=True)
class FixtureImport:
    """What a file would do. `new` and `changed` are rows as they would be saved."""

    preview: Preview
    new: tuple[Fixture, ...]
    changed: tuple[Fixture, ...]
    perhaps_moved: tuple[PerhapsMoved, ...] = ()
    is_table: bool = False
    day_order_is_open: bool = False


@dataclass(frozen=True, slots=True)
class PerhapsMoved:
    """A match without a reference that is new by its day, while a known one against the same side is missing."""

    uid: str
    was: str
    now: str


def fixtures_in(squad: Squad, content: bytes, filename: str, moved: Collection[str] = ()) -> FixtureImport:
    """Compare a file with the squad's fixtures; nothing is written. Raises Unreadable.

    `moved`: UIDs of known matches that somebody said were moved to the day that the file gives (see PerhapsMoved).
    """
    found = read_file(squad, content, filename)
    comparison = Comparison(squad, list(squad.fixtures.all()), found, frozenset(moved))
    lines = tuple(comparison.lines())
    return FixtureImport(
        Preview(lines, tuple(comparison.left_alone()), origin_of(found)),
        tuple(comparison.new),
        tuple(comparison.changed),
        tuple(comparison.perhaps_moved.values()),
        found.is_table,
        found.day_order_is_open,
    )


def read_file(squad: Squad, content: bytes, filename: str) -> FoundFile:
    seasons = tuple(Stretch(season.first_day, season.last_day) for season in squad.seasons.all())
    if not seasons:
        raise Unreadable(_("“%(squad)s” has no season yet. Lay one out first; fixtures go into it.") % {"squad": squad})
    chosen = FixtureColumns.objects.reading_for(squad)
    wanted = Wanted(squad.club.tzinfo, squad.club.name, seasons, chosen)
    return (ics if looks_like_calendar(content, filename) else table).read(content, filename, wanted)


def looks_like_calendar(content: bytes, filename: str) -> bool:
    beginning = content[:4000].replace(b"\x00", b"").upper()
    return b"BEGIN:VCALENDAR" in beginning or filename.lower().endswith((".ics", ".ical", ".ifb"))


def origin_of(found: FoundFile | FoundBreaks) -> str:
    if not found.outside:
        return found.origin
    told = ngettext(
        "%(origin)s; %(count)d event outside the season left out",
        "%(origin)s; %(count)d events outside the season left out",
        found.outside,
    )
    return told % {"origin": found.origin, "count": found.outside}


@dataclass
class Comparison:
    squad: Squad
    known: list[Fixture]
    file: FoundFile
    moved: frozenset[str] = frozenset()
    new: list[Fixture] = field(default_factory=list)
    changed: list[Fixture] = field(default_factory=list)
    taken: dict[object, str] = field(default_factory=dict)  # key, or day and opponent -> where the file named it
    named: set[int] = field(default_factory=set)  # keys of the rows that the file names
    perhaps_moved: dict[str, PerhapsMoved] = field(default_factory=dict)  # by the UID of the known match

    def __post_init__(self) -> None:
        matches = self.matches
        named = {match.key for match in matches}
        self.by_key = {fixture.uid: fixture for fixture in self.known}
        # A fixture that the file names by its own UID is not up for being recognised by its day.
        self.by_day = {day_and_opponent(fixture): fixture for fixture in self.known if fixture.uid not in named}
        days = {match.same_day_as for match in matches}
        self.missing = [
            fixture for fixture in self.known if fixture.uid not in named and day_and_opponent(fixture) not in days
        ]

    @property
    def matches(self) -> list[FoundMatch]:
        return [entry for entry in self.file.entries if isinstance(entry, FoundMatch)]

    def lines(self) -> Iterable[Line]:
        for entry in self.file.entries:
            yield refused(entry) if isinstance(entry, Refusal) else self.line_of(entry)

    def line_of(self, match: FoundMatch) -> Line:
        known = self.by_key.get(match.key) or self.by_day.get(match.same_day_as) or self.moved_from(match)
        keys = {known.uid if known else match.key, match.same_day_as}
        earlier = next((self.taken[key] for key in keys if key in self.taken), "")
        if earlier:
            reason = _("the same match stands in %(where)s already") % {"where": earlier}
            return refused(Refusal(match.where, words_of_found(match), reason))
        self.taken |= dict.fromkeys(keys, match.where)
        return self.compared(match, known) if known else self.created(match)

    def moved_from(self, match: FoundMatch) -> Fixture | None:
        """The known match that this may be, moved: same opponent and side, near in time, and missing in the file.

        It is offered; only if somebody said so is it taken for the same.
        """
        if match.uid:
            return None
        near = [fixture for fixture in self.missing if self.may_be(fixture, match)]
        if len(near) != 1 or near[0].uid in self.perhaps_moved:
            return None
        fixture = near[0]
        was, now = words_of(fixture), words_of_found(match)
        self.perhaps_moved[fixture.uid] = PerhapsMoved(fixture.uid, was, now)
        if fixture.uid not in self.moved:
            return None
        fixture.uid = match.key  # or else the list from before would move it back without asking
        return fixture

    def may_be(self, fixture: Fixture, match: FoundMatch) -> bool:
        return (
            fixture.opponent.casefold() == match.opponent.casefold()
            and match.home in (None, fixture.home)
            and abs(fixture.day - match.day) <= NEAR
        )

    def created(self, match: FoundMatch) -> Line:
        fixture = Fixture(squad=self.squad, uid=match.key)
        take_over(fixture, match, self.venues)
        self.new.append(fixture)
        return Line(match.where, words_of(fixture), State.NEW)

    def compared(self, match: FoundMatch, fixture: Fixture) -> Line:
        self.named.add(fixture.pk)
        label, before = words_of(fixture), told(fixture)
        take_over(fixture, match, self.venues)
        after = told(fixture)
        changes = tuple(Change(name, before[name], after[name]) for name in before if before[name] != after[name])
        if changes:
            self.changed.append(fixture)
        return Line(match.where, label, State.CHANGED if changes else State.SAME, changes)

    def left_alone(self) -> Iterable[str]:
        """Fixtures between the first and the last day of the file that it does not name."""
        days = [match.day for match in self.matches]
        for fixture in self.known:
            if days and fixture.pk not in self.named and min(days) <= fixture.day <= max(days):
                yield words_of(fixture)

    @cached_property
    def venues(self) -> dict[str, Venue]:
        """Those on offer, by their names in small letters."""
        return {venue.name.casefold(): venue for venue in Venue.objects.of(self.squad.club).on_offer()}


def refused(refusal: Refusal) -> Line:
    return Line(refusal.where, refusal.label, State.REFUSED, column=refusal.column, reason=refusal.reason)


def day_and_opponent(fixture: Fixture) -> tuple[dt.date, str]:
    return fixture.day, fixture.opponent.casefold()


def take_over(fixture: Fixture, match: FoundMatch, venues: Mapping[str, Venue]) -> None:
    """Write into the fixture what the file says; what it leaves open stays."""
    was = fixture.kicks_off if fixture.kick_off else None
    fixture.home = fixture.home if match.home is None else match.home
    fixture.where = where_after(fixture, match.venue, venues)
    moved = takes_new_time(fixture, match)
    if moved:
        fixture.kick_off, fixture.all_day = match.moment(fixture.zone), match.kick_off is None
    elif was and match.kick_off is None and was.tzinfo != fixture.zone:  # what is known of it was meant by the wall
        fixture.kick_off = at_wall_time(was.date(), was.time(), fixture.zone)
    fixture.day = fixture.kicks_off.date()
    fixture.uid = match.key if match.uid else fixture.uid
    fixture.opponent = match.opponent
    fixture.competition = match.competition or fixture.competition
    fixture.state = match.state or (FixtureState.PLANNED if moved else fixture.state)


def where_after(fixture: Fixture, words: str, venues: Mapping[str, Venue]) -> Where:
    """The file's words once more leave alone what somebody chose; other words at home name the venue called so."""
    if words in ("", fixture.venue_words):
        return fixture.where
    return Where(venues.get(" ".join(words.split()).casefold()) if fixture.home else None, words)


def takes_new_time(fixture: Fixture, match: FoundMatch) -> bool:
    """A date alone does not wipe out the time that is known for that day."""
    if match.kick_off is None:
        return fixture.day != match.day
    return fixture.all_day or fixture.kick_off != match.kick_off


def told(fixture: Fixture) -> dict[str, str]:
    """The fields of a fixture in the words of the preview, by their names."""
    return {
        _("kick-off"): when(fixture),
        _("opponent"): fixture.opponent,
        _("where"): _("home") if fixture.home else _("away"),
        _("competition"): fixture.competition,
        _("venue"): str(fixture.where),
        _("state"): str(FixtureState(fixture.state).label),
        _("reference"): fixture.uid,
    }


def when(fixture: Fixture) -> str:
    if fixture.all_day:
        return _("%(day)s, time not known") % {"day": date_format(fixture.day, "D j M Y")}
    return date_format(fixture.kicks_off, "D j M Y H:i")


def words_of(fixture: Fixture) -> str:
    side = _("home") if fixture.home else _("away")
    return f"{when(fixture)} {fixture.opponent} ({side})"


def words_of_found(match: FoundMatch) -> str:
    return f"{date_format(match.day, 'D j M Y')} {match.opponent}"
