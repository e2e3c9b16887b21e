"""What ran in ten seasons, beside what was planned (`ten_seasons`): rows for benchmarks, in bulk past the verbs.

Everything ran as planned and each night is confirmed: ten seasons of one squad have 316,800 presences. Matches have
their minutes, and four players contact at school. `add_answers`: nine in ten said how hard each of these was.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from planner.models import Place, Session, Slot
from planner.record_days import settle
from planner.record_models import Account, Confirmation, Declared, Line, MatchMinutes, Presence
from planner.rpe_days import settle_loads
from planner.rpe_models import Rpe
from squads.models import Player, Squad
from tests.benchmarks.ten_seasons import BATCH


def add_record(sessions: Sequence[Session]) -> None:
    """What ran, and the sums of the days that are kept of it."""
    accounts = Account.objects.bulk_create(accounts_of(sessions), batch_size=BATCH)
    lines = Line.objects.bulk_create(
        [
            Line(account=each, minutes=each.slot.minutes, rung=each.rung, card_rung=each.rung, share=each.share)
            for each in accounts
        ],
        batch_size=BATCH,
    )
    at_stations, everyone = standing_at(sessions), list(sessions[0].squad.players.values_list("pk", flat=True))
    Presence.objects.bulk_create(
        (
            Presence(line=line, player_id=player, minutes=line.minutes)
            for line in lines
            for player in at_stations.get((line.account.slot_id, line.account.drill_id), everyone)
        ),
        batch_size=BATCH,
    )
    Confirmation.objects.bulk_create(
        [Confirmation(session=session, number=1, plan_version=0, by_name="Head", plan=[]) for session in sessions],
        batch_size=BATCH,
    )
    settle(sessions[0].squad, sessions[0].day, sessions[-1].day)


def accounts_of(sessions: Sequence[Session]) -> Iterator[Account]:
    """One for each station, with the rung and share of its card, and one for each content for everyone."""
    slots = Slot.objects.filter(session__in=sessions).prefetch_related("stations__drill__skill_shares__skill")
    for slot in slots:
        for station in slot.stations.all():
            drill = station.drill
            made = Account(
                session_id=slot.session_id, slot=slot, spot=f"{slot.pk}.{drill.pk}", order=slot.order,
                letter=station.order, drill=drill, card_version=drill.version, title=str(drill), by_name="Head",
                skills=[
                    {"skill": each.skill.code, "share": each.share, "roles": each.roles}
                    for each in drill.skill_shares.all()
                ],
            )  # fmt: skip
            made.rung, made.share = drill.rung, drill.contact_share if drill.rung > "C0" else 0
            yield made
        if not slot.is_planned:
            made = Account(
                session_id=slot.session_id, slot=slot, spot=f"{slot.pk}", order=slot.order, title=slot.title,
                by_name="Head",
            )  # fmt: skip
            made.rung, made.share = "C0", 0
            yield made


def standing_at(sessions: Sequence[Session]) -> dict[tuple[int, int], list[int]]:
    found: dict[tuple[int, int], list[int]] = {}
    rows = Place.objects.filter(slot__session__in=sessions).order_by()
    for slot, drill, player in rows.values_list("slot", "station__drill", "player"):
        found.setdefault((slot, drill), []).append(player)
    return found


def add_told(squad: Squad, until: dt.date) -> None:
    """Minutes of 23 players in each match, and of four players contact at school each Monday."""
    players = list(squad.players.all())
    matches = list(squad.fixtures.filter(day__lte=until))
    MatchMinutes.objects.bulk_create(
        [
            MatchMinutes(
                player=player, fixture=match, kick_off=match.kick_off, day=match.day, minutes=80 if n < 15 else 20,
                declared_by="Team sheet", by_name="Head",
            )
            for week, match in enumerate(matches)
            for n, player in enumerate(chosen(players, week, 23))
        ],
        batch_size=BATCH,
    )  # fmt: skip
    Declared.objects.bulk_create(
        [
            Declared(
                player=player, day=match.day - dt.timedelta(days=5), place="school", kind="controlled", minutes=6,
                declared_by="Teacher", by_name="Welfare",
            )
            for match in matches
            for player in players[:4]
        ],
        batch_size=BATCH,
    )  # fmt: skip


def add_answers(squad: Squad, sessions: Sequence[Session]) -> None:
    """Of each night and each match, and the loads of the days that are kept of it."""
    players = list(squad.players.all())
    Rpe.objects.bulk_create(
        [
            Rpe(player=player, session=session, number=3 + (n + at) % 6, said_by=str(player), by_name="x", himself=True)
            for at, session in enumerate(sessions)
            for n, player in enumerate(players)
            if (n + at) % 10
        ],
        batch_size=BATCH,
    )
    Rpe.objects.bulk_create(
        [
            Rpe(player=each.player, fixture=each.fixture, number=8, said_by="x", by_name="x", himself=True)
            for n, each in enumerate(MatchMinutes.objects.filter(player__squad=squad).select_related("player"))
            if n % 10
        ],
        batch_size=BATCH,
    )
    settle_loads(squad, sessions[0].day, sessions[-1].day)


def chosen(players: Sequence[Player], week: int, count: int) -> list[Player]:
    return [players[(week + n) % len(players)] for n in range(count)]
