"""On which nights a player worked at which rung, and who was in charge of them: as run where a night is confirmed."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Subquery

from planner.models import Place, Session, Station
from planner.record_models import Confirmation, Presence
from squads.models import Player

Stood = tuple[dt.date, int, str, str, int, str]  # day, order in the night, ladder, rung, key of the session, coach
CONFIRMED_STATION = {"slot": OuterRef("line__account__slot"), "drill": OuterRef("line__account__drill")}


@dataclass(frozen=True, slots=True)
class Step:
    """The first time that he worked at a rung of a ladder, with whom, and on how many nights since."""

    ladder: str
    rung: str
    first: dt.date
    coach: str
    session: int
    nights: int


@dataclass(frozen=True, slots=True)
class NightRun:
    """A night and who was in charge of it; `players`: how many were there, None while nobody has confirmed it.

    `corrections`: what was corrected after it was confirmed, the oldest first.
    """

    session: Session
    coaches: tuple[str, ...]
    first_aider: str
    players: int | None
    corrections: tuple[Confirmation, ...] = ()

    @property
    def is_confirmed(self) -> bool:
        return self.players is not None


def steps_of(player: Player, until: dt.date, today: dt.date) -> list[Step]:
    """In two queries: at which rungs he really was where the night is confirmed, else where the plan put him."""
    last = min(until, today)
    first: dict[tuple[str, str], Stood] = {}
    nights: dict[tuple[str, str], set[int]] = defaultdict(set)
    for each in sorted([*ran(player, last), *planned(player, last)]):
        _day, _order, ladder, rung, session, _coach = each
        first.setdefault((ladder, rung), each)
        nights[ladder, rung].add(session)
    return [
        Step(ladder, rung, day, coach, session, len(nights[ladder, rung]))
        for (ladder, rung), (day, _order, _ladder, _rung, session, coach) in sorted(first.items())
    ]


def ran(player: Player, last: dt.date) -> Iterator[Stood]:
    """Whoever stood aside from the contact of a rung has not passed it."""
    rows = Presence.objects.filter(
        player=player, aside=False, line__account__replaced_by__isnull=True,
        line__account__session__confirmations__number=1, line__account__session__cancelled=False,
        line__account__session__day__lte=last, line__account__drill__ladder__isnull=False,
    )  # fmt: skip
    coach = Station.objects.filter(**CONFIRMED_STATION).values("coach")[:1]
    named = rows.order_by().annotate(coach=Subquery(coach)).values_list(
        "line__account__session__day", "line__account__order", "line__account__drill__ladder__name", "line__rung",
        "line__account__session", "coach",
    )  # fmt: skip
    return ((*row[:-1], row[-1] or "") for row in named)


def planned(player: Player, last: dt.date) -> Iterable[Stood]:
    rows = Place.objects.filter(
        ~Exists(Confirmation.objects.filter(session=OuterRef("slot__session"))), player=player,
        slot__session__cancelled=False, slot__session__day__lte=last, station__drill__ladder__isnull=False,
    )  # fmt: skip
    return rows.order_by().values_list(
        "slot__session__day", "slot__order", "station__drill__ladder__name", "station__drill__rung", "slot__session",
        "station__coach",
    )  # fmt: skip


def nights_run(sessions: Iterable[Session]) -> list[NightRun]:
    """In two queries. Of several confirmations of a night the last one tells who was there."""
    sessions, told = list(sessions), defaultdict(list)
    for row in Confirmation.objects.filter(session__in=sessions).order_by("number"):
        told[row.session_id].append(row)
    there = Presence.objects.filter(line__account__session__in=list(told), line__account__replaced_by__isnull=True)
    pairs = there.order_by().values_list("line__account__session", "player").distinct()
    count = Counter(session for session, _player in pairs)
    return [night_run(session, told[session.pk], count[session.pk]) for session in sessions]


def night_run(session: Session, told: Sequence[Confirmation], players: int) -> NightRun:
    if not told:
        return NightRun(session, tuple(session.coach_names), session.first_aider, None)
    return NightRun(session, tuple(told[-1].coaches), told[-1].first_aider, players, tuple(told[1:]))
