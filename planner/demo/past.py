"""What has happened at the invented club so far: who came, what ran, how hard it was, who played.

Told by the verbs that the club's people use, each at the hour at which they would. The last night is left for whoever
tries the site to confirm. Chance has a fixed seed, so that every demo of one day tells the same.
"""

from __future__ import annotations

import datetime as dt
import random
import uuid
from collections.abc import Iterable, Mapping, Sequence

from django.db import transaction

from planner.attendance import span_of_session
from planner.attendance_actions import Tapped, mark
from planner.attendance_models import MarkState
from planner.declared_actions import declare_contact, note_match_minutes
from planner.models import Fixture, Session
from planner.record_actions import confirm_night, drop_rung
from planner.record_models import Elsewhere
from planner.record_night import NightRecord, night_record
from planner.rpe import MATCH_LASTS, Occasion
from planner.rpe_actions import Told, note_rpe
from planner.welfare_actions import note_elsewhere
from shared.core.contact import Kind
from shared.models import User
from squads.models import ClearanceLevel, Player, Squad

SEED = 20
ANSWERS = 0.85  # share of the players who say how hard it was
STAYS_AWAY = 0.06  # share of those expected who do not come
WHOLE_MATCH, FROM_THE_BENCH, BENCH = 80, 20, 8
ELSEWHERE = "WD14"  # plays for the county too

AFTER = dt.timedelta(minutes=25)  # the coaches confirm the night in the changing room
ASKED = dt.timedelta(minutes=40)


def tell_the_past(squad: Squad, now: dt.datetime) -> None:
    """Every night and match that was over by `now`; one night with a rung that was dropped, the last not confirmed."""
    chance = random.Random(SEED)
    people = {user.username: user for user in User.objects.filter(memberships__club=squad.club)}
    nights = [night for night in past_nights(squad, now) if is_planned(night)]
    tell_of_county(squad, nights, people["welfare"])
    dropped = False
    for number, night in enumerate(nights):
        drops = number >= 2 and not dropped
        dropped |= tell_night(night, people["assistant"], chance, drops=drops, confirms=night != nights[-1])
    for fixture in past_matches(squad, now):
        tell_match(fixture, people["assistant"], chance)


def past_nights(squad: Squad, now: dt.datetime) -> list[Session]:
    rows = Session.objects.filter(squad=squad, cancelled=False, starts_at__lt=now).select_related("squad__club")
    nights = rows.prefetch_related("slots__stations").order_by("starts_at")
    return [night for night in nights if span_of_session(night)[1] + ASKED <= now]


def is_planned(night: Session) -> bool:
    return any(slot.stations.all() for slot in night.slots.all())


def past_matches(squad: Squad, now: dt.datetime) -> Iterable[Fixture]:
    return Fixture.objects.filter(squad=squad, kick_off__lt=now - MATCH_LASTS - ASKED).select_related("squad__club")


# Nights


@transaction.atomic
def tell_night(night: Session, by: User, chance: random.Random, *, drops: bool, confirms: bool) -> bool:
    """Whether a rung was dropped: the plan may hold no contact on a night."""
    ends = span_of_session(night)[1]
    mark_everybody(night, by, chance)
    dropped = drops and drop_first_contact(night_record(night, ends), by)
    if confirms:
        confirm_night(session=night, by=by, version=night.plan_version, now=ends + AFTER)
    there = {player for block in night_record(night, ends).blocks for player in block.players}
    answer(Occasion(session=night), there, 4, ends + ASKED, chance)
    return dropped


def mark_everybody(night: Session, by: User, chance: random.Random) -> None:
    """Whoever the plan expects; a few of them do not come."""
    record = night_record(night, night.starts_at)
    expected = sorted({player for block in record.blocks for player in block.players})
    taps = [
        Tapped(
            uuid.UUID(int=chance.getrandbits(128), version=4),
            player,
            MarkState.AWAY if chance.random() < STAYS_AWAY else MarkState.HERE,
            night.starts_at,
        )
        for player in expected
    ]
    mark(session=night, taps=taps, by=by, today=night.day)


def drop_first_contact(record: NightRecord, by: User) -> bool:
    """Half-way through the first station with contact, if there is one, the coach takes it back to a walk-through."""
    block = next((each for each in record.blocks if each.placed and each.parts[0].kind is not Kind.NONE), None)
    if block is not None:
        drop_rung(
            session=record.session, spot=block.spot, rung="C0", minute=block.minutes // 2, seen=None, by=by,
            now=record.now,
        )  # fmt: skip
    return block is not None


def answer(occasion: Occasion, players: Iterable[int], about: int, now: dt.datetime, chance: random.Random) -> None:
    """Most of them say how hard it was, around the number given."""
    known = Player.objects.filter(pk__in=list(players)).select_related("squad__club").order_by("pk")
    told = [
        Told(player, occasion, min(10, max(1, round(chance.gauss(about + player.pk % 3, 0.8)))))
        for player in known
        if chance.random() < ANSWERS
    ]
    note_rpe(told=told, by=None, now=now)


# Matches


@transaction.atomic
def tell_match(fixture: Fixture, by: User, chance: random.Random) -> None:
    minutes = team_of(fixture)
    seen = dict.fromkeys((player.pk for player in minutes), None)
    note_match_minutes(fixture=fixture, minutes=minutes, seen=seen, declared_by="team sheet", by=by, today=fixture.day)
    played = [player.pk for player, much in minutes.items() if much]
    answer(Occasion(fixture=fixture), played, 6, fixture.kick_off + MATCH_LASTS + ASKED, chance)


def team_of(fixture: Fixture) -> Mapping[Player, int]:
    """Fifteen by position, turned by one from match to match; eight from the bench; nobody who is out today."""
    squad = fixture.squad
    players = list(squad.players.in_squad_on(fixture.day).exclude(clearances__level__in=below_full()).distinct())
    starters = [one_of(players, position, fixture.pk) for position in range(1, 16)]
    rest = [player for player in players if player not in starters]
    bench = rest[:BENCH]
    minutes = dict.fromkeys(rest, 0) | dict.fromkeys(bench, FROM_THE_BENCH)
    return minutes | {player: WHOLE_MATCH for player in starters if player is not None}


def below_full() -> list[str]:
    return [level for level in ClearanceLevel.values if level != ClearanceLevel.FULL]


def one_of(players: Sequence[Player], position: int, turn: int) -> Player | None:
    able = [player for player in players if player.main_position == position]
    return able[turn % len(able)] if able else None


# Elsewhere


@transaction.atomic
def tell_of_county(squad: Squad, nights: Sequence[Session], by: User) -> None:
    """One of them trains with the county. Its coach told the first weeks; the last ones nobody has told yet."""
    if not nights:
        return
    player, first = squad.players.get(key=ELSEWHERE), nights[0].day
    note_elsewhere(player=player, from_day=first, where="county squad", asked="C. Dunmarrow, county coach", by=by)
    for week, minutes in enumerate((12, 0)):
        day = first + dt.timedelta(weeks=week, days=1)
        if day < nights[-1].day:
            declare_contact(
                player=player, day=day, place=Elsewhere.COUNTY, minutes=minutes,
                kind=Kind.CONTROLLED if minutes else Kind.NONE, declared_by="C. Dunmarrow, county coach", by=by,
                today=nights[-1].day,
            )  # fmt: skip
