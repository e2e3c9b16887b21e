"""What a season's programme adds up to, week by week: the most contact of any player, and minutes by skill family.

The database adds up (one row for each player, day and rung; one for each station), and what it took is kept in
this process under everything that the figures depend on. The figures are those of `planner.totals`, which counts
stretch by stretch; a test holds the two together. Of confirmed nights the kept sums of the record count.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter, OrderedDict, defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from threading import Lock
from typing import TypeVar

from django.db.models import Q, Sum

from drills.models import DrillSkill
from planner.attendance import Words, words_of
from planner.building.patterns import patterns_on
from planner.core.totals import LIMITED, Limit, Room, WeekLimits, monday_of, room, worst
from planner.days import NEAR_A_MATCH, Days, by_player, declared_between, rules_until
from planner.elsewhere import declared_on
from planner.models import Fixture, FixtureState, Place, Session, Slot
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
WhoMay = tuple[Set[int], Set[int]]  # who may take part in a kind of contact on a night, and who is there but may not


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
    squad: Squad,
    mondays: Sequence[dt.date],
    sessions: Sequence[Session],
    fixtures: Iterable[Fixture],
    end: str | None,
) -> SeasonFigures:
    """As the database holds them now; counted anew only after something has changed.

    `sessions` are those of these weeks with their length, and `fixtures` those of two weeks more on either side. Any
    change of a drill, a programme, a player, a reply, an absence, a clearance, a rule or a pattern goes through a verb
    that adds to the club's audit chain. Its `end` is read before anything else (`audit_end`), so that what is kept is
    never older than what it is kept under.
    """
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
    days = days_of(squad, mondays[0], mondays[-1] + LOOK_BACK, nights, matches)
    contents = list(contents_of(nights))
    contact, families = Contact.of(days, nights, contents), family_minutes(contents)
    return {monday: contact.week(monday, families.get(monday, {})) for monday in mondays}


@dataclass(frozen=True, slots=True)
class Content:
    """What stands in a slot: a station with its players, or content for everyone (`players` None, no `drill`)."""

    night: Session
    slot: int
    minutes: int
    kind: Kind
    share: int
    drill: int | None
    players: Sequence[int] | None

    @property
    def hundredths(self) -> int:
        """Of a minute that whoever takes part spends in contact."""
        return 0 if self.kind is Kind.NONE else self.minutes * self.share


def contents_of(nights: Iterable[Session]) -> list[Content]:
    """What stands in the slots of these nights, in two queries: rows as plain values, thousands of them in a season."""
    by_key = {night.pk: night for night in nights}
    at: dict[int, list[int]] = defaultdict(list)
    placed = Place.objects.filter(slot__session__in=by_key, slot__title="").order_by()
    for station, player in placed.values_list("station", "player"):
        at[station].append(player)
    stations, for_all = [], {}
    slots = Slot.objects.filter(Q(title="") | Q(contact_share__gt=0), session__in=by_key).order_by()
    for session, slot, minutes, title, kind, of_all, station, drill, rung, share in slots.values_list(*OF_SLOTS):
        if title:
            for_all[slot] = Content(by_key[session], slot, minutes, Kind(kind), of_all, None, None)
        elif station:
            stations.append(Content(by_key[session], slot, minutes, kind_of(rung), share, drill, at[station]))
    return [*stations, *for_all.values()]


OF_SLOTS = (
    "session",
    "pk",
    "minutes",
    "title",
    "kind",
    "contact_share",
    "stations",
    "stations__drill",
    "stations__drill__rung",
    "stations__drill__contact_share",
)


@dataclass
class Contact:
    """Hundredths of a minute of each kind and player, by week, counted as far as he may take part on the night."""

    days: Days
    sums: dict[dt.date, dict[Kind, Counter[int]]] = field(default_factory=lambda: defaultdict(_zeros))
    above: dict[dt.date, set[int]] = field(default_factory=lambda: defaultdict(set))
    full_days: dict[dt.date, dict[int, set[dt.date]]] = field(default_factory=lambda: defaultdict(_sets))
    near: dict[dt.date, Days] = field(default_factory=dict)
    known: dict[tuple[int, Kind], WhoMay] = field(default_factory=dict)

    @classmethod
    def of(cls, days: Days, nights: Sequence[Session], contents: Iterable[Content]) -> Contact:
        closed = confirmed_among(nights)
        ran = list(days_that_ran(days, {night.day for night in closed}))
        found = cls(replace(days, words=days.words | who_came(closed, ran)))
        on_day = {night.day: night for night in closed}
        for row in ran:
            for kind, name in KINDS.items():
                if much := getattr(row, name):
                    found.book_what_ran(row.player_id, on_day[row.day], kind, much)
        closed_keys = {night.pk for night in closed}
        for content in contents:
            if content.hundredths and content.night.pk not in closed_keys:
                found.book(content)
        found.book_declared()
        return found

    def who_may(self, night: Session, kind: Kind) -> WhoMay:
        """Whoever is not in the squad, or away, is in neither."""
        if (key := (night.pk, kind)) not in self.known:
            found = self.around(monday_of(night.day)).ceilings(night)
            here = {player: each.level for player, each in found.items() if each.level is not Level.ABSENT}
            may = {player for player, level in here.items() if level.allows(kind)}
            self.known[key] = may, here.keys() - may
        return self.known[key]

    def book(self, content: Content) -> None:
        """What is planned, of those who may take part."""
        night, kind, much = content.night, content.kind, content.hundredths
        monday, (may, may_not) = monday_of(night.day), self.who_may(night, kind)
        taking_part = may if content.players is None else may.intersection(content.players)
        his = self.sums[monday][kind]
        for player in taking_part:
            his[player] += much
        if kind is Kind.FULL:
            for player in taking_part:
                self.full_days[monday][player].add(night.day)
        if content.players is not None:
            self.above[monday] |= may_not.intersection(content.players)

    def book_what_ran(self, player: int, night: Session, kind: Kind, much: int) -> None:
        """Of a confirmed night, as its record says, in spite of a status too."""
        monday, who = monday_of(night.day), self.days.players.get(player)
        self.sums[monday][kind][player] += much
        if kind is Kind.FULL:
            self.full_days[monday][player].add(night.day)
        if who and not self.around(monday).ceiling(who, night).level.allows(kind):
            self.above[monday].add(player)

    def book_declared(self) -> None:
        """Contact elsewhere, in full."""
        for player, stretches in declared_on(self.days).items():
            for each in stretches:
                monday = monday_of(each.day)
                self.sums[monday][each.kind][player] += each.counted
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
        most = {kind: max(self.sums[monday][kind].values(), default=0) for kind in LIMITED}
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


def _zeros() -> dict[Kind, Counter[int]]:
    return defaultdict(Counter)


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
        declared=list(declared_between(squad, first, last)),
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


def family_minutes(contents: Iterable[Content]) -> dict[dt.date, dict[str, float]]:
    """Minutes of each skill family by week, out of the planned time of the squad.

    Stations side by side share the minutes of their slot by how many players stand at each, and a drill shares them
    among its skills. So the families of a week add up to the minutes of its planned slots.
    """
    standing: dict[int, list[Content]] = defaultdict(list)
    for content in contents:
        if content.drill is not None:
            standing[content.slot].append(content)
    shares = family_shares({each.drill for stations in standing.values() for each in stations})
    found: dict[dt.date, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for stations in standing.values():
        players = sum(len(each.players) for each in stations)
        for each in stations:
            part = each.minutes * (len(each.players) / players if players else 1 / len(stations))
            if not part:
                continue
            for family, share in shares[each.drill].items():
                found[monday_of(each.night.day)][family] += part * share / 100
    return found


def family_shares(drills: set[int]) -> dict[int, dict[str, int]]:
    """Of each drill the per cent that each skill family has of it."""
    found: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    rows = DrillSkill.objects.filter(drill__in=drills).order_by().values_list("drill", "skill__family")
    for drill, family, share in rows.annotate(Sum("share")):
        found[drill][family] = share
    return found
