"""The record added up by player and day: kept equal to its rows, counted anew, and told with what is only planned."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.db.models import F, IntegerField, Sum
from django.db.models.functions import Cast

from planner.core import record as core
from planner.days import Days
from planner.models import Session
from planner.record import field_of, levels_of
from planner.record_models import Confirmation, DayState, Declared, MatchMinutes, PlayerDay, Presence
from planner.rpe_days import loads_reckoned, settle_loads
from planner.turns import take_turn
from shared.core.contact import Kind, kind_of
from squads.models import Squad

Key = tuple[int, dt.date]  # player and day
KINDS = {Kind.FULL: "full", Kind.CONTROLLED: "controlled", Kind.SET_PIECE: "set_piece"}
COUNTED = (
    "minutes", "full", "controlled", "set_piece", "declared_full", "declared_controlled", "declared_set_piece",
    "match_minutes", "state",
)  # fmt: skip
LOAD = "load"


@transaction.atomic
def settle(squad: Squad, first: dt.date, last: dt.date) -> None:
    """Make the kept sums of these days equal to the record. Whoever else enters something waits until this is done."""
    take_turn(squad)
    wanted = reckoned(squad, first, last)
    kept = PlayerDay.objects.filter(player__squad=squad, day__gte=first, day__lte=last)
    nothing = [row for row in kept if (row.player_id, row.day) not in wanted]
    PlayerDay.objects.filter(pk__in=[row.pk for row in nothing if row.load is None]).delete()
    emptied = [blank(row) for row in nothing if row.load is not None]
    PlayerDay.objects.bulk_update(emptied, COUNTED)
    PlayerDay.objects.bulk_create(
        (PlayerDay(player_id=player, day=day, **sums) for (player, day), sums in wanted.items()),
        update_conflicts=True,
        unique_fields=["player", "day"],
        update_fields=COUNTED,
    )
    settle_loads(squad, first, last)


def blank(row: PlayerDay) -> PlayerDay:
    """Without any sum; what somebody said of his load stays."""
    empty = PlayerDay(player_id=row.player_id, day=row.day)
    for name in COUNTED:
        setattr(row, name, getattr(empty, name))
    return row


def reckoned(squad: Squad, first: dt.date, last: dt.date) -> dict[Key, dict[str, Any]]:
    """The sums of the days as the rows of the record give them, in five queries. Days without any row are left out."""
    sums: dict[Key, dict[str, Any]] = defaultdict(dict)
    for key, name, much in (
        *of_nights(squad, first, last),
        *of_declared(squad, first, last),
        *of_matches(squad, first, last),
    ):
        sums[key][name] = sums[key].get(name, 0) + much
    confirmed = set(
        Confirmation.objects.filter(session__squad=squad, session__day__gte=first, session__day__lte=last)
        .order_by()
        .values_list("session__day", flat=True)
        .distinct()
    )
    for (_player, day), found in sums.items():
        is_confirmed = "minutes" in found and day in confirmed
        found["state"] = DayState.CONFIRMED if is_confirmed else DayState.DECLARED
    return dict(sums)


def of_nights(squad: Squad, first: dt.date, last: dt.date) -> Iterator[tuple[Key, str, int]]:
    """Minutes, and hundredths of a minute in contact, of the nights that are confirmed."""
    there = Presence.objects.filter(
        line__account__session__squad=squad,
        line__account__session__day__gte=first,
        line__account__session__day__lte=last,
        line__account__session__cancelled=False,
        line__account__session__confirmations__number=1,
        line__account__replaced_by__isnull=True,
    )
    rows = there.order_by().values_list("player", "line__account__session__day", "line__rung", "aside")
    for player, day, rung, aside, minutes, contact in rows.annotate(
        much=Sum("minutes"), contact=Sum(Cast("minutes", IntegerField()) * F("line__share"))
    ):
        yield (player, day), "minutes", minutes
        if contact and not aside and (name := KINDS.get(kind_of(rung))):
            yield (player, day), name, contact


def of_declared(squad: Squad, first: dt.date, last: dt.date) -> Iterator[tuple[Key, str, int]]:
    rows = Declared.objects.filter(player__squad=squad).counting().between(first, last).order_by()
    for player, day, kind, minutes in rows.values_list("player", "day", "kind", "minutes"):
        if name := KINDS.get(Kind(kind)):
            yield (player, day), f"declared_{name}", 100 * minutes


def of_matches(squad: Squad, first: dt.date, last: dt.date) -> Iterator[tuple[Key, str, int]]:
    rows = MatchMinutes.objects.filter(player__squad=squad).counting().between(first, last).order_by()
    for player, day, minutes in rows.values_list("player", "day", "minutes"):
        yield (player, day), "match_minutes", minutes


@dataclass(frozen=True, slots=True)
class Difference:
    """A kept sum that is not what the record says."""

    player: int
    day: dt.date
    what: str
    kept: Any
    record: Any


def differences(squad: Squad, first: dt.date, last: dt.date) -> list[Difference]:
    """Where what is kept is not what the record says, loads among it, in ten queries however many days there are; a
    sum that is missing counts as nothing."""
    wanted, loads = reckoned(squad, first, last), loads_reckoned(squad, first, last)
    rows = PlayerDay.objects.filter(player__squad=squad, day__gte=first, day__lte=last)
    kept = {(player, day): sums for player, day, *sums in rows.values_list("player", "day", *COUNTED, LOAD)}
    empty = {name: getattr(PlayerDay(), name) for name in (*COUNTED, LOAD)}
    return [
        Difference(*key, name, mine, right)
        for key in sorted(wanted.keys() | kept.keys() | loads.keys())
        for name, mine, right in zip(
            (*COUNTED, LOAD),
            kept.get(key, empty.values()),
            (empty | wanted.get(key, {}) | {LOAD: loads.get(key)}).values(),
            strict=True,
        )
        if mine != right
    ]


@dataclass(frozen=True, slots=True)
class DayTold:
    """One player's day: training (`source` says how sure it is), declared contact and match minutes beside it.

    `contact` and `declared` in hundredths of a minute by kind; `load` in AU, None where nobody has said anything.
    """

    player: int
    day: dt.date
    source: core.Source
    minutes: int = 0
    contact: Mapping[Kind, int] = field(default_factory=dict)
    declared: Mapping[Kind, int] = field(default_factory=dict)
    match_minutes: int = 0
    load: float | None = None


def days_told(squad: Squad, first: dt.date, last: dt.date, now: dt.datetime) -> list[DayTold]:
    """Every day of every player with anything on it, in order; in a fixed number of queries.

    Confirmed nights come from the kept sums, the others from the plan and whatever was told of them so far.
    """
    rows = PlayerDay.objects.filter(player__squad=squad, day__gte=first, day__lte=last)
    found = {(row.player_id, row.day): of_row(row) for row in rows}
    for key, sums, source in of_open_nights(squad, first, last, now):
        found[key] = joined(found.get(key), key, sums, source)
    return [found[key] for key in sorted(found)]


def of_row(row: PlayerDay) -> DayTold:
    return DayTold(
        row.player_id,
        row.day,
        core.Source.CONFIRMED if row.state == DayState.CONFIRMED else core.Source.DECLARED,
        row.minutes,
        {kind: much for kind, name in KINDS.items() if (much := getattr(row, name))},
        {kind: much for kind, name in KINDS.items() if (much := getattr(row, f"declared_{name}"))},
        row.match_minutes,
        row.load,
    )


def of_open_nights(
    squad: Squad, first: dt.date, last: dt.date, now: dt.datetime
) -> Iterator[tuple[Key, core.DaySum, core.Source]]:
    if not open_nights(squad, first, last).exists():
        return
    days = Days.of(squad, first, last, open_only=True)
    for session in days.sessions:
        source = days.records.source(session, now)
        took = core.taken(blocks_on(days, session), session.pk, session.day, source)
        yield from ((key, sums, source) for key, sums in core.day_sums(took).items())


def open_nights(squad: Squad, first: dt.date, last: dt.date) -> Any:
    return Session.objects.filter(squad=squad, confirmations__isnull=True).between(first, last)


def blocks_on(days: Days, session: Session) -> list[core.Block]:
    """The spots of a night as they count now, with who was there."""
    levels = levels_of(days.ceilings(session).items())
    return days.records.blocks(session, field_of(session, levels, days.words))


def joined(known: DayTold | None, key: Key, sums: core.DaySum, source: core.Source) -> DayTold:
    """Two nights of one day; the less sure of the two says how sure the day is."""
    old = known or DayTold(*key, source)
    contact = {kind: old.contact.get(kind, 0) + sums.contact.get(kind, 0) for kind in {*old.contact, *sums.contact}}
    return DayTold(
        *key, source, old.minutes + sums.minutes, contact, old.declared, old.match_minutes, old.load
    )  # fmt: skip
