"""A squad on some days: its sessions with what stands in them, its players, and what each may do on each day.

Everything in a fixed number of queries, whether or not a block holds the days.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from django.db.models import Exists, F, OuterRef, Prefetch, Q, QuerySet

from drills.models import Drill, DrillSkill
from planner.attendance import Words, words_of
from planner.building.attendance import ruling, rulings_on
from planner.building.nights import stations_in
from planner.building.patterns import patterns_on
from planner.core.calendar import monday_of
from planner.core.pattern import Pattern
from planner.models import Fixture, Place, Session, Station
from planner.programme import fetch_programme
from planner.record import Records
from planner.record_models import Account, Confirmation, Declared, Presence
from shared.core.contact import Level
from shared.models import Club
from squads.core.eligibility import Ceiling, Word
from squads.models import Absence, Clearance, ContactRules, Player, Squad
from squads.return_models import ReturnEntry

ONE_DAY = dt.timedelta(days=1)

# A match this many days outside some days still shapes the first and last nights of them.
NEAR_A_MATCH = dt.timedelta(days=14)


@dataclass(frozen=True)
class Days:
    """`players` by key, in squad order, are the members on some of the days and whoever stands or stood at a station.

    `rules` are in order of precedence, `clearances` and `returns` in the order in which they were entered.
    `matches` are the days of `fixtures`, which are played or due near these days. `patterns` by the Monday of the week
    that each is on; `records` of the sessions. Only what is fetched to plan has the club's `drills` by key, with their
    skills, and what was `declared` of contact elsewhere.
    """

    squad: Squad
    first: dt.date
    last: dt.date
    sessions: list[Session]
    players: dict[int, Player]
    rules: list[ContactRules]
    absences: Mapping[int, list[Absence]]
    clearances: Mapping[int, list[Clearance]]
    returns: Mapping[int, list[ReturnEntry]]
    matches: list[dt.date]
    words: Words
    patterns: Mapping[dt.date, Pattern]
    records: Records = field(default_factory=Records)
    fixtures: list[Fixture] = field(default_factory=list)
    drills: Mapping[int, Drill] | None = None
    declared: Sequence[Declared] | None = None
    _ceilings: dict[int, dict[int, Ceiling]] = field(default_factory=dict, repr=False)

    @classmethod
    def of(
        cls,
        squad: Squad,
        first: dt.date,
        last: dt.date,
        *,
        open_only: bool = False,
        whole_from: dt.date | None = None,
        only: Player | None = None,
        to_count: bool = False,
        rules: Iterable[ContactRules] | None = None,
        to_plan: bool = False,
    ) -> Days:
        """The squad's club should be fetched with it. `open_only`: without the nights that are confirmed; `whole_from`:
        without those before that day. `only`: as if the squad had this one player. `to_count`: without the stations
        that were planned for confirmed nights, since only what ran counts of those. `rules`: where they were
        fetched already. `to_plan`: with drills and what was declared."""
        whole_from = last + ONE_DAY if open_only else whole_from
        drills = {drill.pk: drill for drill in drills_of(squad.club)} if to_plan else None
        sessions = list(sessions_between(squad, first, last, whole_from))
        stations = stations_to_fetch(to_count=to_count, with_drills=drills is None)
        fetch_programme(sessions, stations, Place.objects.filter(player=only) if only else None)
        for session in sessions:
            session.squad = squad
        for _session, _slot, station in stations_in(sessions) if drills else ():
            station.drill = drills[station.drill_id]
        told = [session for session in sessions if session.is_told]
        records = Records.of_one(told, only) if only else Records.of(told)
        players = {player.pk: player for player in ([only] if only else players_between(squad, first, last, sessions))}
        whose = Q(player=only) if only else Q(player__squad=squad)
        clearances = Clearance.objects.filter(whose, from_day__lte=last)
        words = words_of(sessions)
        fixtures = fixtures_near(squad, first, last)
        return cls(
            squad,
            first,
            last,
            sessions,
            players,
            list(rules_until(squad, last) if rules is None else rules),
            by_player(Absence.objects.filter(whose, last_day__gte=first, first_day__lte=last)),
            by_player(clearances),
            by_player(ReturnEntry.objects.behind(clearances)),
            [fixture.day for fixture in fixtures],
            words | records.words(players.values(), words),
            patterns_on(squad, first, last),
            records,
            fixtures,
            drills,
            list(declared_between(squad, first, last)) if to_plan else None,
        )

    def cut(self, first: dt.date, last: dt.date) -> Days:
        """Some of these days as `Days.of` would fetch them, without a query."""
        if (first, last) == (self.first, self.last):
            return self
        sessions = self.between(first, last)
        keys = {session.pk for session in sessions}
        near = first - NEAR_A_MATCH, last + NEAR_A_MATCH
        fixtures = [fixture for fixture in self.fixtures if near[0] <= fixture.day <= near[1]]
        clearances = kept(self.clearances, lambda each: each.from_day <= last)
        taken_off = {player for player, rows in clearances.items() if any(row.case_id for row in rows)}
        return Days(
            self.squad,
            first,
            last,
            sessions,
            self.players_between(first, last),
            [rules for rules in self.rules if rules.valid_from <= last],
            kept(self.absences, lambda each: each.first_day <= last and first <= each.last_day),
            clearances,
            kept(self.returns, lambda each: each.player_id in taken_off),
            [fixture.day for fixture in fixtures],
            {key: word for key, word in self.words.items() if key[1] in keys},
            {monday: each for monday, each in self.patterns.items() if monday_of(first) <= monday <= last},
            self.records.of_sessions(keys),
            fixtures,
            self.drills,
            self.declared and [row for row in self.declared if first <= row.day <= last],
        )

    def players_between(self, first: dt.date, last: dt.date) -> dict[int, Player]:
        """Who is of the squad on one of some of these days, or stands or stood at a station then."""
        sessions = self.between(first, last)
        placed = {player for _session, _slot, station in stations_in(sessions) for player in station.standing}
        placed.update(player for session in sessions for player in self.records.named(session.pk))
        return {key: player for key, player in self.players.items() if key in placed or player.is_in_squad(first, last)}

    def between(self, first: dt.date, last: dt.date) -> list[Session]:
        return [session for session in self.sessions if first <= session.day <= last]

    def rules_on(self, day: dt.date) -> ContactRules | None:
        """The rules in force that day, as ContactRules.objects.in_force would choose them."""
        return next((rules for rules in self.rules if rules.valid_from <= day), None)

    def rules_in(self, first: dt.date, last: dt.date) -> list[ContactRules]:
        """All rules that are in force on one of these days."""
        days = (first + dt.timedelta(days=n) for n in range((last - first).days + 1))
        return list(dict.fromkeys(rules for day in days if (rules := self.rules_on(day))))

    def ceiling(self, player: Player, session: Session) -> Ceiling:
        """The most that he may do on that night, and why."""
        found = self.ceilings(session).get(player.pk)
        return ruling(self, player, session) if found is None else found

    def ceilings(self, session: Session) -> Mapping[int, Ceiling]:
        """Of everybody on that night, by the keys of the players."""
        if session.pk not in self._ceilings:
            self._ceilings[session.pk] = rulings_on(self, self.players, session)
        return self._ceilings[session.pk]

    def word(self, player: Player, session: Session) -> Word | None:
        """What he said for that night, or what was marked on it."""
        return self.words.get((player.pk, session.pk))

    def there(self, session: Session) -> list[Player]:
        """Who is expected that night."""
        return [p for p in self.players.values() if self.ceiling(p, session).level is not Level.ABSENT]


def fixtures_near(squad: Squad, first: dt.date, last: dt.date) -> list[Fixture]:
    near = Fixture.objects.filter(squad=squad, day__gte=first - NEAR_A_MATCH, day__lte=last + NEAR_A_MATCH)
    fixtures = list(near.played_or_due())
    for fixture in fixtures:
        fixture.squad = squad
    return fixtures


Row = TypeVar("Row", Absence, Clearance, ReturnEntry)


def by_player(rows: Iterable[Row]) -> dict[int, list[Row]]:
    found = defaultdict(list)
    for row in rows:
        found[row.player_id].append(row)
    return found


def kept(rows: Mapping[int, list[Row]], holds: Callable[[Row], bool]) -> dict[int, list[Row]]:
    """Those by player for which something holds."""
    return by_player(row for his in rows.values() for row in his if holds(row))


def drills_of(club: Club) -> Iterable[Drill]:
    """All of them, the retired ones too."""
    shares = Prefetch("skill_shares", DrillSkill.objects.select_related("skill"))
    return Drill.objects.of(club).select_related("ladder").prefetch_related(shares)


def declared_between(squad: Squad, first: dt.date, last: dt.date) -> Iterable[Declared]:
    return Declared.objects.filter(player__squad=squad).counting().of_members().between(first, last)


def sessions_between(
    squad: Squad, first: dt.date, last: dt.date, whole_from: dt.date | None = None
) -> QuerySet[Session]:
    """`whole_from` as in `Days.of`."""
    sessions = Session.objects.filter(squad=squad)
    if whole_from:
        sessions = sessions.filter(Q(day__gte=whole_from) | ~confirmed("pk"))
    sessions = sessions.annotate(is_told=Exists(Account.objects.filter(session=OuterRef("pk"))))
    return sessions.annotate(is_confirmed=confirmed("pk")).between(first, last)


def stations_to_fetch(*, to_count: bool, with_drills: bool) -> QuerySet[Station]:
    found = Station.objects.select_related("drill") if with_drills else Station.objects.all()
    return found.filter(~confirmed("slot__session")) if to_count else found


def confirmed(session: str) -> Exists:
    """Whether the session of that name is."""
    return Exists(Confirmation.objects.filter(session=OuterRef(session)))


def players_between(squad: Squad, first: dt.date, last: dt.date, sessions: Iterable[Session]) -> Iterable[Player]:
    keys = [session.pk for session in sessions]
    placed = Place.objects.filter(slot__session__in=keys).values("player")
    came = Presence.objects.filter(line__account__session__in=keys).values("player")
    standing = squad.players.filter(Q(pk__in=placed) | Q(pk__in=came))
    return squad.players.in_squad_on(first, last) | standing


def rules_until(squad: Squad, last: dt.date) -> Iterable[ContactRules]:
    """Those of the squad before those of its club, the newest first."""
    return ContactRules.objects.filter(
        Q(squad=squad) | Q(squad=None), club=squad.club_id, valid_from__lte=last
    ).order_by(F("squad").asc(nulls_last=True), "-valid_from", "-pk")
