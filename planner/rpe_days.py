"""The load of each day as the record gives it: what a player did, for how long, and how hard he said it was.

`PlayerDay.load` is kept equal to this. A day of which anything is not known, or not sure, has none.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from django.db.models import Q, QuerySet, Sum

from planner.core.rpe import Did, sure_load
from planner.models import Fixture, FixtureState, Session
from planner.record_models import DayState, Declared, MatchMinutes, PlayerDay, Presence
from planner.rpe_models import Rpe, newest
from squads.models import Player, Squad

Key = tuple[int, dt.date]  # player and day


def settle_loads(squad: Squad, first: dt.date, last: dt.date) -> None:
    """Make the kept loads of these days equal to the record; whoever asks holds the lock on the squad."""
    wanted = loads_reckoned(squad, first, last)
    kept = {
        (row.player_id, row.day): row for row in PlayerDay.objects.filter(player__squad=squad, day__range=(first, last))
    }
    changed = [row for key, row in kept.items() if row.load != wanted.get(key)]
    for row in changed:
        row.load = wanted.get((row.player_id, row.day))
    PlayerDay.objects.bulk_update(changed, ["load"])
    PlayerDay.objects.bulk_create(
        PlayerDay(player_id=player, day=day, load=load, state=DayState.OPEN)
        for (player, day), load in wanted.items()
        if (player, day) not in kept
    )
    PlayerDay.objects.filter(pk__in=[row.pk for row in changed if row.load is None], **NOTHING).delete()


@contextmanager
def loads_follow(squad: Squad, rows: QuerySet[Session] | QuerySet[Fixture]) -> Iterator[None]:
    """Around a change of nights or matches, of their day or whether they take place: the loads of their days follow,
    where somebody has said of one how hard it was. Whoever asks holds the lock on the squad."""
    days = days_answered(rows)
    yield
    for day in days | days_answered(rows) if days else ():
        settle_loads(squad, day, day)


def days_answered(rows: QuerySet[Session] | QuerySet[Fixture]) -> set[dt.date]:
    return set(rows.filter(rpes__isnull=False).order_by().values_list("day", flat=True))


# A row that was made for a load alone.
SUMS = ("minutes", "full", "controlled", "set_piece", "match_minutes")
DECLARED = ("declared_full", "declared_controlled", "declared_set_piece")
NOTHING = dict.fromkeys((*SUMS, *DECLARED), 0) | {"state": DayState.OPEN}


def loads_reckoned(squad: Squad, first: dt.date, last: dt.date) -> dict[Key, float]:
    """Days with a load that is sure, AU, as the rows of the record give it, in four queries."""
    done = done_on(Player.objects.filter(squad=squad), first, last)
    return {key: load for key, did in done.items() if (load := sure_load(did.values())) is not None}


def done_on(players: QuerySet[Player], first: dt.date, last: dt.date) -> dict[Key, dict[str, Did]]:
    """What each did on each day, by the name of the night or the match. Planned nights of which nothing was said are
    left out; one of which something was said is not sure before its record is confirmed."""
    minutes = minutes_told(players, first, last)
    said = said_on(players, first, last)
    done: dict[Key, dict[str, Did]] = defaultdict(dict)
    for key in minutes.keys() | said.keys():
        for name in minutes.get(key, {}).keys() | said.get(key, {}).keys():
            row = said.get(key, {}).get(name)
            told = row.minutes if row and row.minutes else minutes.get(key, {}).get(name)
            done[key][name] = Did(row.number if row else None, told)
    return dict(done)


def said_on(players: QuerySet[Player], first: dt.date, last: dt.date) -> Mapping[Key, dict[str, Rpe]]:
    """Answers that stand: what was taken back is as if it had never been said."""
    on = Q(session__day__range=(first, last), session__cancelled=False) | Q(
        fixture__day__range=(first, last), fixture__state=FixtureState.PLANNED
    )
    rows = Rpe.objects.filter(on, player__in=players).select_related("session", "fixture")
    found: dict[Key, dict[str, Rpe]] = defaultdict(dict)
    for row in newest(rows).values():
        if row.number is not None:
            found[row.player_id, (row.session or row.fixture).day][row.occasion] = row
    return found


def minutes_told(players: QuerySet[Player], first: dt.date, last: dt.date) -> Mapping[Key, dict[str, int | None]]:
    """Minutes of each confirmed night and each match; of training elsewhere nobody knows for how long."""
    found: dict[Key, dict[str, int | None]] = defaultdict(dict)
    for key, name, minutes in (
        *of_nights(players, first, last),
        *of_matches(players, first, last),
        *of_elsewhere(players, first, last),
    ):
        found[key][name] = minutes
    return found


def of_nights(players: QuerySet[Player], first: dt.date, last: dt.date) -> Iterator[tuple[Key, str, int]]:
    there = Presence.objects.filter(
        player__in=players,
        line__account__session__day__range=(first, last),
        line__account__session__cancelled=False,
        line__account__session__confirmations__number=1,
        line__account__replaced_by__isnull=True,
    )
    rows = there.order_by().values_list("player", "line__account__session__day", "line__account__session")
    for player, day, session, minutes in rows.annotate(much=Sum("minutes")):
        yield (player, day), f"s{session}", minutes


def of_matches(players: QuerySet[Player], first: dt.date, last: dt.date) -> Iterator[tuple[Key, str, int]]:
    rows = MatchMinutes.objects.filter(player__in=players, minutes__gt=0).counting().between(first, last).order_by()
    for key, player, day, fixture, minutes in rows.values_list("pk", "player", "day", "fixture", "minutes"):
        yield (player, day), f"f{fixture}" if fixture else f"elsewhere{key}", minutes


def of_elsewhere(players: QuerySet[Player], first: dt.date, last: dt.date) -> Iterator[tuple[Key, str, None]]:
    rows = Declared.objects.filter(player__in=players, minutes__gt=0).counting().between(first, last).order_by()
    for key, player, day in rows.values_list("pk", "player", "day"):
        yield (player, day), f"declared{key}", None
