"""The load of each day as the record gives it: what a player did, for how long, and how hard he said it was.

`PlayerDay.load` is kept equal to this. A day of which anything is not known, or not sure, has none.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from django.db.models import IntegerField, QuerySet, Value
from django.db.models.functions import Cast

from planner.core.rpe import Did, sure_load
from planner.models import Fixture, FixtureState, Session
from planner.record_models import DayState, Declared, MatchMinutes, PlayerDay, Presence
from planner.rpe_models import Rpe, occasion_name
from squads.models import Player, Squad

Key = tuple[int, dt.date]  # player and day
AT_ONCE = 500  # rows of one update, each with a case of its own: PostgreSQL tries them all for every row


def settle_loads(squad: Squad, first: dt.date, last: dt.date) -> None:
    """Make the kept loads of these days equal to the record; whoever asks holds the lock on the squad."""
    wanted = loads_reckoned(squad, first, last)
    kept = {
        (row.player_id, row.day): row for row in PlayerDay.objects.filter(player__squad=squad, day__range=(first, last))
    }
    changed = [row for key, row in kept.items() if row.load != wanted.get(key)]
    for row in changed:
        row.load = wanted.get((row.player_id, row.day))
    PlayerDay.objects.bulk_update(changed, ["load"], batch_size=AT_ONCE)
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
    """Days with a load that is sure, AU, as the rows of the record give it, in three queries."""
    done = done_on(Player.objects.filter(squad=squad), first, last)
    return {key: load for key, did in done.items() if (load := sure_load(did.values())) is not None}


def done_on(players: QuerySet[Player], first: dt.date, last: dt.date) -> dict[Key, dict[str, Did]]:
    """What each did on each day, by the name of the night or the match, in three queries. Planned nights of which
    nothing was said are left out; one of which something was said is not sure before its record is confirmed."""
    minutes = minutes_told(players, first, last)
    said = said_on(players, first, last)
    done: dict[Key, dict[str, Did]] = defaultdict(dict)
    for key in minutes.keys() | said.keys():
        for name in minutes.get(key, {}).keys() | said.get(key, {}).keys():
            row = said.get(key, {}).get(name)
            told = row.minutes if row and row.minutes else minutes.get(key, {}).get(name)
            done[key][name] = Did(row.rpe if row else None, told)
    return dict(done)


def said_on(players: QuerySet[Player], first: dt.date, last: dt.date) -> Mapping[Key, dict[str, Did]]:
    """Answers that stand, with the minutes that were told with them: what was taken back is as if it had never been
    said."""
    rows = Rpe.objects.filter(player__in=players).order_by()
    nights = rows.filter(session__day__range=(first, last), session__cancelled=False)
    matches = rows.filter(fixture__day__range=(first, last), fixture__state=FixtureState.PLANNED)
    told = nights.values_list("at", "pk", "player", "session__day", "session", "fixture", "number", "minutes").union(
        matches.values_list("at", "pk", "player", "fixture__day", "session", "fixture", "number", "minutes"), all=True
    )
    found: dict[Key, dict[str, Did]] = defaultdict(dict)
    for _at, _pk, player, day, session, fixture, number, minutes in sorted(told.order_by(), key=lambda row: row[:2]):
        found[player, day][occasion_name(session, fixture)] = Did(number, minutes)
    return {key: {name: did for name, did in by_name.items() if did.rpe is not None} for key, by_name in found.items()}


def minutes_told(players: QuerySet[Player], first: dt.date, last: dt.date) -> Mapping[Key, dict[str, int | None]]:
    """Minutes of each confirmed night and each match; of training elsewhere nobody knows for how long."""
    found: dict[Key, dict[str, int | None]] = defaultdict(dict)
    for key, name, minutes in of_nights(players, first, last):
        found[key][name] = (found[key].get(name) or 0) + minutes
    for key, name, told in of_matches_and_elsewhere(players, first, last):
        found[key][name] = told
    return found


def of_nights(players: QuerySet[Player], first: dt.date, last: dt.date) -> Iterator[tuple[Key, str, int]]:
    """Stretch by stretch: to sum them up, a database would read all that the players ever did."""
    there = Presence.objects.filter(
        player__in=players,
        line__account__session__day__range=(first, last),
        line__account__session__cancelled=False,
        line__account__session__confirmations__number=1,
        line__account__replaced_by__isnull=True,
    )
    rows = there.order_by().values_list("player", "line__account__session__day", "line__account__session", "minutes")
    for player, day, session, minutes in rows:
        yield (player, day), f"s{session}", minutes


def of_matches_and_elsewhere(
    players: QuerySet[Player], first: dt.date, last: dt.date
) -> Iterator[tuple[Key, str, int | None]]:
    matches, elsewhere = (
        kind.objects.filter(player__in=players, minutes__gt=0).counting().between(first, last).order_by()
        for kind in (MatchMinutes, Declared)
    )
    nothing = Cast(Value(None), IntegerField())
    rows = matches.values_list("pk", "player", "day", "minutes", "fixture", Value(True)).union(
        elsewhere.values_list("pk", "player", "day", nothing, nothing, Value(False)), all=True
    )
    # Unordered said once more: a newer Django would order both by what their model says, which is no column here.
    for key, player, day, minutes, fixture, is_match in rows.order_by():
        beside = f"elsewhere{key}" if is_match else f"declared{key}"
        yield (player, day), f"f{fixture}" if fixture else beside, minutes
