"""What a season's programme adds up to, week by week: the most contact of any player, and minutes by skill family.

The database adds up (one row for each player, day and rung; one for each station), and what it took is kept in
this process under everything that the figures depend on. The figures are those of `planner.totals`, which counts
stretch by stretch; a test holds the two together. Of confirmed nights the kept sums of the record count.
"""

from __future__ import annotations

import datetime as dt
from collections import OrderedDict, defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from threading import Lock
from typing import TypeVar

from django.db.models import Count, F, IntegerField, Sum, prefetch_related_objects
from django.db.models.functions import Cast

from drills.models import DrillSkill
from planner.attendance import Words, words_of
from planner.building.patterns import patterns_on
from planner.building.rows import NEAR_A_MATCH, by_player
from planner.core.totals import LIMITED, Limit, Room, WeekLimits, monday_of, room, worst
from planner.days import Days, rules_until
from planner.elsewhere import declared_on
from planner.models import Fixture, FixtureState, Place, Session, Station
from planner.record_days import KINDS
from planner.record_models import Confirmation, PlayerDay
from planner.totals import LOOK_BACK, limits_of
from shared.core.contact import Kind, Level, kind_of
from shared.models import AuditHead
from squads.core.eligibility import Word
from squads.models import Absence, Clearance, Squad
from squads.return_models import ReturnEntry


@dataclass(frozen=True, slots=True)
class Most:
    """The most contact of a kind that any one player has in a week, in hundredths of a minute, against its limit."""

    kind: Kind
    hundredths: int
    limit: Limit | None
    near_percent: int

    @property
    def minutes(self) -> float:
        return self.hundredths / 100

    @property
    def room(self) -> Room:
        return room(self.hundredths, self.limit.minutes if self.limit else None, self.near_percent)


@dataclass(frozen=True, slots=True)
class WeekFigures:
    """`not_allowed`: how many players stand above what they may do; `families`: minutes of the squad's planned time.

    `too_many_days`: how many players have full contact on more days than the rules allow. `pattern`: the name of the
    one that is on the week and lowers its `limits`, "" if there is none.
    """

    monday: dt.date
    contact: tuple[Most, ...]
    limits: WeekLimits
    not_allowed: int
    too_many_days: int
    families: Mapping[str, float]
    pattern: str = ""

    @property
    def room(self) -> Room:
        """The worst that any player meets in the week."""
        days = Room.PAST if self.too_many_days else Room.FINE
        above = Room.NOT_ALLOWED if self.not_allowed else Room.FINE
        return worst([days, above, *(most.room for most in self.contact)])


SeasonFigures = Mapping[dt.date, WeekFigures]  # by the Monday of each week


T = TypeVar("T")


class Kept:
    """Figures of some seasons and weeks, each under all that they depend on; those made longest ago go first."""

    def __init__(self, room: int) -> None:
        self._room, self._found, self._lock = room, OrderedDict(), Lock()

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        if (found := self._found.get(key)) is None:
            found = make()
            with self._lock:
                self._found[key] = found
                while len(self._found) > self._room:
                    self._found.popitem(last=False)
        return found

    def forget(self) -> None:
        """Count anew at the next question."""
        self._found.clear()


KEPT = Kept(room=256)


def figures_of(
    squad: Squad, mondays: Sequence[dt.date], sessions: Sequence[Session], fixtures: Iterable[Fixture]
) -> SeasonFigures:
    """As the database holds them now; counted anew only after something has changed.

    `sessions` are those of these weeks, and `fixtures` those of two weeks more on either side. Any change of a drill,
    a programme, a player, a reply, an absence, a clearance, a rule or a pattern goes through a verb that adds to the
    club's audit chain, whose end is read first: so what is kept is never older than what it is kept under.
    """
    end = audit_end(squad)
    versions = tuple((each.pk, each.day, each.cancelled, each.plan_version) for each in sessions)
    matches = tuple(sorted({each.day for each in fixtures if each.state == FixtureState.PLANNED}))
    key = (squad.pk, tuple(mondays), matches, end, versions)
    return KEPT.get(key, lambda: counted(squad, mondays, sessions, matches))


def audit_end(squad: Squad) -> str | None:
    """The end of the club's audit chain, which moves with every change."""
    return AuditHead.objects.filter(club=squad.club.slug).values_list("digest", flat=True).first()


def counted(
    squad: Squad, mondays: Sequence[dt.date], sessions: Sequence[Session], matches: Sequence[dt.date]
) -> SeasonFigures:
    """Of weeks in order, in the same number of queries however many there are.

    `matches` are the days of those that put a load on a week.
    """
    nights = [session for session in sessions if not session.cancelled]
    prefetch_related_objects(nights, "slots")
    days = days_of(squad, mondays[0], mondays[-1] + LOOK_BACK, nights, matches)
    contact, families = Contact.of(days, nights), family_minutes(nights)
    return {monday: contact.week(monday, families.get(monday, {})) for monday in mondays}


@dataclass
class Contact:
    """Hundredths of a minute of each player and kind, by week, counted as far as he may take part on the night."""

    days: Days
    sums: dict[dt.date, dict[tuple[int, Kind], int]] = field(default_factory=lambda: defaultdict(_zeros))
    above: dict[dt.date, set[int]] = field(default_factory=lambda: defaultdict(set))
    full_days: dict[dt.date, dict[int, set[dt.date]]] = field(default_factory=lambda: defaultdict(_sets))
    near: dict[dt.date, Days] = field(default_factory=dict)

    @classmethod
    def of(cls, days: Days, nights: Sequence[Session]) -> Contact:
        closed = confirmed_among(nights)
        ran = list(days_that_ran(days, {night.day for night in closed}))
        found = cls(replace(days, words=days.words | who_came(closed, ran)))
        on_day = {night.day: night for night in closed}
        for row in ran:
            for kind, name in KINDS.items():
                if much := getattr(row, name):
                    found.book_what_ran(row.player_id, on_day[row.day], kind, much)
        closed_keys = {night.pk for night in closed}
        by_key = {night.pk: night for night in nights if night.pk not in closed_keys}
        levels = {key: found.levels(night) for key, night in by_key.items()}
        for player, key, rung, much in placed(by_key):
            found.book(player, by_key[key], levels[key], kind_of(rung), much, is_placed=True)
        for night, kind, much in fixed(by_key.values()):
            for player in found.days.players:
                found.book(player, night, levels[night.pk], kind, much, is_placed=False)
        found.book_declared()
        return found

    def levels(self, night: Session) -> dict[int, Level]:
        """How much each player may do on it, by his key; whoever is not in the squad stands in none."""
        found = self.around(monday_of(night.day)).ceilings(night)
        return {player: ceiling.level for player, ceiling in found.items()}

    def book(
        self, player: int, night: Session, levels: Mapping[int, Level], kind: Kind, much: int, *, is_placed: bool
    ) -> None:
        monday, level = monday_of(night.day), levels.get(player, Level.ABSENT)
        if level.allows(kind):
            self.sums[monday][player, kind] += much
            if kind is Kind.FULL:
                self.full_days[monday][player].add(night.day)
        elif is_placed and level is not Level.ABSENT:
            self.above[monday].add(player)

    def book_what_ran(self, player: int, night: Session, kind: Kind, much: int) -> None:
        """Of a confirmed night, as its record says, in spite of a status too."""
        monday, who = monday_of(night.day), self.days.players.get(player)
        self.sums[monday][player, kind] += much
        if kind is Kind.FULL:
            self.full_days[monday][player].add(night.day)
        if who and not self.around(monday).ceiling(who, night).level.allows(kind):
            self.above[monday].add(player)

    def book_declared(self) -> None:
        """Contact elsewhere, in full."""
        for player, stretches in declared_on(self.days).items():
            for each in stretches:
                monday = monday_of(each.day)
                self.sums[monday][player, each.kind] += each.counted
                if each.counted and each.kind is Kind.FULL:
                    self.full_days[monday][player].add(each.day)
                if each.is_not_allowed:
                    self.above[monday].add(player)

    def around(self, monday: dt.date) -> Days:
        """With the matches that the totals of the week look at: a pattern may ask how far the next one is."""
        if monday not in self.near:
            first, last = monday - LOOK_BACK - NEAR_A_MATCH, monday + LOOK_BACK + NEAR_A_MATCH
            self.near[monday] = replace(self.days, matches=[day for day in self.days.matches if first <= day <= last])
        return self.near[monday]

    def week(self, monday: dt.date, families: Mapping[str, float]) -> WeekFigures:
        limits = self.limits(monday)
        most: dict[Kind, int] = defaultdict(int)
        for (_player, kind), much in self.sums[monday].items():
            most[kind] = max(most[kind], much)
        return WeekFigures(
            monday,
            tuple(Most(kind, most[kind], limits.by_kind.get(kind), limits.near_percent) for kind in LIMITED),
            limits,
            len(self.above[monday]),
            sum(1 for days in self.full_days[monday].values() if too_many(len(days), limits)),
            families,
            self.days.patterns[monday].name if monday in self.days.patterns else "",
        )

    def limits(self, monday: dt.date) -> WeekLimits:
        """Of the rules in force in the week, lowered by the pattern that is on it."""
        limits, pattern = limits_of(self.days.rules_in(monday, monday + LOOK_BACK)), self.days.patterns.get(monday)
        return pattern.lowered(limits) if pattern else limits


def _zeros() -> dict[tuple[int, Kind], int]:
    return defaultdict(int)


def _sets() -> dict[int, set[dt.date]]:
    return defaultdict(set)


def too_many(days: int, limits: WeekLimits) -> bool:
    return limits.full_days is not None and days > limits.full_days


def days_of(squad: Squad, first: dt.date, last: dt.date, nights: Sequence[Session], matches: Sequence[dt.date]) -> Days:
    """What sets the ceilings of the players on these nights. Who does not belong to the squad counts nothing."""
    clearances = Clearance.objects.filter(player__squad=squad, from_day__lte=last)
    return Days(
        squad,
        first,
        last,
        [],
        {player.pk: player for player in squad.players.in_squad_on(first, last)},
        list(rules_until(squad, last)),
        by_player(Absence.objects.filter(player__squad=squad, last_day__gte=first, first_day__lte=last)),
        by_player(clearances),
        by_player(ReturnEntry.objects.behind(clearances)),
        list(matches),
        words_of(nights),
        patterns_on(squad, first, last),
    )


def confirmed_among(nights: Sequence[Session]) -> list[Session]:
    keys = Confirmation.objects.filter(session__in=[night.pk for night in nights], number=1)
    closed = set(keys.values_list("session", flat=True))
    return [night for night in nights if night.pk in closed]


def days_that_ran(days: Days, on: Collection[dt.date]) -> Iterable[PlayerDay]:
    """What the record of confirmed nights adds up to, by player and day."""
    return PlayerDay.objects.filter(player__squad=days.squad, day__in=on, minutes__gt=0) if on else ()


def who_came(closed: Iterable[Session], ran: Iterable[PlayerDay]) -> Words:
    by_day: dict[dt.date, list[int]] = defaultdict(list)
    for row in ran:
        by_day[row.day].append(row.player_id)
    return {(player, night.pk): Word(True) for night in closed for player in by_day[night.day]}


def placed(nights: Collection[int]) -> Iterator[tuple[int, int, str, int]]:
    """Player, key of the night, rung, and his hundredths of a minute in contact at stations."""
    at_work = Place.objects.filter(slot__session__in=nights, slot__title="", station__drill__contact_share__gt=0)
    grouped = at_work.order_by().values_list("player", "slot__session", "station__drill__rung")
    rows = grouped.annotate(much=hundredths("slot__minutes", "station__drill__contact_share"))
    return (row for row in rows if kind_of(row[2]) is not Kind.NONE)


def fixed(nights: Iterable[Session]) -> Iterator[tuple[Session, Kind, int]]:
    """The hundredths of a minute of contact in content for everyone."""
    for night in nights:
        for slot in night.slots.all():
            if not slot.is_planned and slot.contact_share and slot.kind != Kind.NONE:
                yield night, Kind(slot.kind), slot.minutes * slot.contact_share


def hundredths(minutes: str, share: str) -> Sum:
    """As whole numbers of four bytes: in two bytes PostgreSQL would refuse a slot of six hours."""
    return Sum(Cast(minutes, IntegerField()) * F(share))


def family_minutes(nights: Iterable[Session]) -> dict[dt.date, dict[str, float]]:
    """Minutes of each skill family by week, out of the planned time of the squad.

    Stations side by side share the minutes of their slot by how many players stand at each, and a drill shares them
    among its skills. So the families of a week add up to the minutes of its planned slots.
    """
    rows = list(
        Station.objects.filter(slot__session__in=[night.pk for night in nights], slot__title="")
        .order_by()
        .values_list("slot", "slot__session__day", "slot__minutes", "drill")
        .annotate(Count("places"))
    )
    shares = family_shares({row[3] for row in rows})
    standing: dict[int, list[tuple[dt.date, int, int, int]]] = defaultdict(list)
    for slot, *station in rows:
        standing[slot].append(tuple(station))
    found: dict[dt.date, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for stations in standing.values():
        players = sum(station[3] for station in stations)
        for day, minutes, drill, here in stations:
            part = minutes * (here / players if players else 1 / len(stations))
            if not part:
                continue
            for family, share in shares[drill].items():
                found[monday_of(day)][family] += part * share / 100
    return found


def family_shares(drills: set[int]) -> dict[int, dict[str, int]]:
    """Of each drill the per cent that each skill family has of it."""
    found: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    rows = DrillSkill.objects.filter(drill__in=drills).order_by().values_list("drill", "skill__family")
    for drill, family, share in rows.annotate(Sum("share")):
        found[drill][family] = share
    return found
