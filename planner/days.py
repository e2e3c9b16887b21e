"""A squad on some days: its sessions with what stands in them, its players, and what each may do on each day.

Everything in a fixed number of queries, whether or not a block holds the days.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.db.models import Exists, F, OuterRef, Prefetch, Q, QuerySet

from planner.attendance import Words, words_of
from planner.building.attendance import ruling, rulings_on
from planner.building.patterns import patterns_on
from planner.building.rows import NEAR_A_MATCH, by_player
from planner.core.pattern import Pattern
from planner.models import Fixture, Place, Session, Slot, Station
from planner.record import Records
from planner.record_models import Account, Confirmation, Presence
from shared.core.contact import Level
from squads.core.eligibility import Ceiling, Word
from squads.models import Absence, Clearance, ContactRules, Player, Squad
from squads.return_models import ReturnEntry

ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Days:
    """`players` by key, in squad order, are the members on some of the days and whoever stands or stood at a station.

    `rules` are in order of precedence, `clearances` and `returns` in the order in which they were entered.
    `matches` are the days of `fixtures`, which are played or due near these days. `patterns` by the Monday of the week
    that each is on; `records` of the sessions.
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
    _ceilings: dict[tuple[int, int], Ceiling] = field(default_factory=dict, repr=False)

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
    ) -> Days:
        """The squad's club should be fetched with it. `open_only`: without the nights that are confirmed; `whole_from`:
        without those before that day. `only`: as if the squad had this one player. `to_count`: without the stations
        that were planned for confirmed nights, since only what ran counts of those."""
        whole_from = last + ONE_DAY if open_only else whole_from
        sessions = list(sessions_between(squad, first, last, whole_from, only, to_count=to_count))
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
            list(rules_until(squad, last)),
            by_player(Absence.objects.filter(whose, last_day__gte=first, first_day__lte=last)),
            by_player(clearances),
            by_player(ReturnEntry.objects.behind(clearances)),
            [fixture.day for fixture in fixtures],
            words | records.words(players.values(), words),
            patterns_on(squad, first, last),
            records,
            fixtures,
        )

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
        key = player.pk, session.pk
        if key not in self._ceilings:
            self._ceilings[key] = ruling(self, player, session)
        return self._ceilings[key]

    def ceilings(self, session: Session) -> Mapping[int, Ceiling]:
        """Of everybody on that night, by the keys of the players: quicker than one by one."""
        return rulings_on(self, self.players, session)

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


def sessions_between(
    squad: Squad,
    first: dt.date,
    last: dt.date,
    whole_from: dt.date | None = None,
    only: Player | None = None,
    *,
    to_count: bool = False,
) -> Iterable[Session]:
    """`whole_from`, `only` and `to_count` as in `Days.of`."""
    sessions = Session.objects.filter(squad=squad).select_related("squad__club")
    if whole_from:
        sessions = sessions.filter(Q(day__gte=whole_from) | ~confirmed("pk"))
    sessions = sessions.annotate(is_told=Exists(Account.objects.filter(session=OuterRef("pk"))))
    slots = Slot.objects.prefetch_related(Prefetch("stations", stations_with_places(only, to_count)))
    return (
        sessions.annotate(is_confirmed=confirmed("pk")).between(first, last).prefetch_related(Prefetch("slots", slots))
    )


def stations_with_places(only: Player | None, to_count: bool) -> QuerySet[Station]:
    places = Place.objects.order_by("player__main_position", "player__family_name")
    stations = Station.objects.select_related("drill").prefetch_related(
        Prefetch("places", places.filter(player=only) if only else places)
    )
    return stations.filter(~confirmed("slot__session")) if to_count else stations


def confirmed(session: str) -> Exists:
    """Whether the session of that name is."""
    return Exists(Confirmation.objects.filter(session=OuterRef(session)))


def players_between(squad: Squad, first: dt.date, last: dt.date, sessions: Iterable[Session]) -> Iterable[Player]:
    keys = [session.pk for session in sessions]
    placed = Place.objects.filter(slot__session__in=keys).values("player")
    came = Presence.objects.filter(line__account__session__in=keys).values("player")
    standing = squad.players.filter(Q(pk__in=placed) | Q(pk__in=came))
    return (squad.players.in_squad_on(first, last) | standing).select_related("squad")


def rules_until(squad: Squad, last: dt.date) -> Iterable[ContactRules]:
    """Those of the squad before those of its club, the newest first."""
    return ContactRules.objects.filter(
        Q(squad=squad) | Q(squad=None), club=squad.club_id, valid_from__lte=last
    ).order_by(F("squad").asc(nulls_last=True), "-valid_from", "-pk")
