"""The record of nights, read: which account of each station counts, and what the plan stands in for.

The one place that decides between the two; totals, the next plan, sheets and pages ask here.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from drills.models import Drill
from planner.attendance import span_of_session
from planner.core import record as core
from planner.models import Session, Slot, Station
from planner.record_models import Account, Confirmation, Line, Presence
from shared.core.contact import Kind, Level, rung_of_content
from squads.core.eligibility import Ceiling, Word
from squads.models import Player

A_MINUTE = dt.timedelta(minutes=1)
Key = tuple[int, int]  # of a player and a session


def spot_of(slot: int, drill: int | None = None) -> str:
    """The name of a station within its night, by the keys of slot and drill; of content for everyone, by its slot."""
    return f"{slot}" if drill is None else f"{slot}.{drill}"


@dataclass(frozen=True)
class Records:
    """What was told of some nights, by their keys: `told` holds every account; of `confirmed` ones nothing is open."""

    told: Mapping[int, list[core.Told]] = field(default_factory=dict)
    confirmed: frozenset[int] = frozenset()

    @classmethod
    def of(cls, sessions: Iterable[Session]) -> Records:
        """In two queries, or one where nothing has been told. A night without any account is not confirmed."""
        confirmed = Exists(Confirmation.objects.filter(session=OuterRef("account__session")))
        lines = list(lines_of(sessions, Presence.objects.all()).annotate(is_confirmed=confirmed))
        return cls(told_in(lines), frozenset(line.account.session_id for line in lines if line.is_confirmed))

    @classmethod
    def of_one(cls, sessions: Iterable[Session], player: Player) -> Records:
        """As if nobody but this player had been there; of confirmed nights only what he took part in.

        The sessions say whether they are confirmed (`is_confirmed`).
        """
        sessions = list(sessions)
        closed = frozenset(session.pk for session in sessions if session.is_confirmed)
        his = Presence.objects.filter(player=player)
        counts = Q(Exists(his.filter(line=OuterRef("pk"))), account__replaced_by__isnull=True)
        lines = lines_of(sessions, his).filter(~Q(account__session__in=closed) | counts)
        return cls(told_in(lines), closed)

    def of_sessions(self, keys: Collection[int]) -> Records:
        """Of some of the nights."""
        told = {key: told for key, told in self.told.items() if key in keys}
        return Records(told, self.confirmed & frozenset(keys))

    def named(self, session: int) -> set[int]:
        """Players of whom some account of the night tells, one that was replaced too."""
        return {player for each in self.told.get(session, ()) for player in each.block.players}

    def is_confirmed(self, session: Session) -> bool:
        return session.pk in self.confirmed

    def source(self, session: Session, now: dt.datetime) -> core.Source:
        """Slots should be fetched with the session."""
        return core.source_of(span_of_session(session)[1], now, is_confirmed=self.is_confirmed(session))

    def blocks(self, session: Session, on: core.Field) -> list[core.Block]:
        """The spots of the night in the order of time; slots, stations, places and drills should be fetched."""
        told = self.told.get(session.pk, ())
        return core.night_of(planned_in(session), told, on, is_confirmed=self.is_confirmed(session))

    def words(self, players: Iterable[Player], known: Mapping[Key, Word]) -> dict[Key, Word]:
        """Who was there: that stands before what is `known` by replies and marks, and before absences by dates.

        Of a night that is not confirmed yet, only of those who were told to be there although they were not expected.
        """
        players, words = list(players), {}
        for session in self.told.keys() | self.confirmed:
            came, is_confirmed = self._came(session), session in self.confirmed
            for player in players:
                key, is_here = (player.pk, session), player.pk in came
                if is_confirmed or (is_here and not (key in known and known[key].coming)):
                    words[key] = Word(is_here, "" if is_here else "not there that night")
        return words

    def _came(self, session: int) -> set[int]:
        told = core.standing(self.told.get(session, ())).values()
        return {player for each in told for player in each.block.players}


def lines_of(sessions: Iterable[Session], there: QuerySet[Presence]) -> QuerySet[Line]:
    """With their accounts and with who was `there`, in order."""
    lines = Line.objects.filter(account__session__in=[session.pk for session in sessions]).select_related("account")
    return lines.order_by("account", "part").prefetch_related(Prefetch("presences", there))


def told_in(lines: Iterable[Line]) -> dict[int, list[core.Told]]:
    """By session, in the order in which they were entered."""
    by_account: dict[Account, list[Line]] = defaultdict(list)
    for line in lines:
        by_account[line.account].append(line)
    told: dict[int, list[core.Told]] = defaultdict(list)
    for account, its_lines in by_account.items():
        told[account.session_id].append(told_of(account, its_lines))
    return dict(told)


def told_of(account: Account, lines: Iterable[Line]) -> core.Told:
    parts = tuple(part_of(line) for line in lines)
    card = core.Card(account.title, account.drill_id, account.card_version, account.rpe, skills_in(account.skills))
    is_placed = account.drill_id is not None
    block = core.Block(account.spot, account.order, account.letter, card, parts, is_placed)
    return core.Told(account.pk, block, account.replaces_id)


def part_of(line: Line) -> core.Part:
    here = {row.player_id: core.Here(row.minutes, row.after, row.aside) for row in line.presences.all()}
    return core.Part(line.minutes, line.rung, line.share, line.card_rung, here, line.initials, line.reason)


def skills_in(rows: Iterable[Mapping]) -> tuple[core.Skill, ...]:
    return tuple(core.Skill(row["skill"], row["share"], row["roles"] and tuple(row["roles"])) for row in rows)


def planned_in(session: Session) -> Iterator[core.Planned]:
    for slot in session.slots.all():
        if slot.is_planned:
            yield from (planned_at(slot, station) for station in slot.stations.all())
        else:
            yield planned_content(slot)


def planned_at(slot: Slot, station: Station) -> core.Planned:
    drill = station.drill
    return core.Planned(
        spot_of(slot.pk, station.drill_id),
        slot.order,
        station.order,
        card_of(drill),
        slot.minutes,
        drill.rung,
        drill.contact_share,
        station.standing,
    )


def planned_content(slot: Slot) -> core.Planned:
    rung, share = rung_of_content(Kind(slot.kind)), slot.contact_share
    card = core.Card(slot.title, rpe=slot.rpe)
    return core.Planned(spot_of(slot.pk), slot.order, 0, card, slot.minutes, rung, share if rung != "C0" else 0)


def card_of(drill: Drill) -> core.Card:
    """With its skills where they were fetched with the drill; totals of contact do without."""
    fetched = getattr(drill, "_prefetched_objects_cache", {}).get("skill_shares", ())
    skills = tuple(core.Skill(each.skill.code, each.share, each.roles and tuple(each.roles)) for each in fetched)
    return core.Card(str(drill), drill.pk, drill.version, drill.rpe, skills)


def field_of(session: Session, levels: Mapping[int, Level], words: Mapping[tuple[int, int], Word]) -> core.Field:
    """Who is on the field, by the most that each may do that night and what is known of his times."""
    there = [player for player, level in levels.items() if level is not Level.ABSENT]
    return core.Field({player: stay_of(session, words.get((player, session.pk))) for player in there}, levels)


def stay_of(session: Session, word: Word | None) -> core.Stay:
    """A minute that has begun counts as his, when he comes and when he goes."""
    if word is None:
        return 0, None
    came = 0 if word.starts is None else max(0, math.floor((word.starts - session.starts_at) / A_MINUTE))
    left = None if word.ends is None else max(0, math.ceil((word.ends - session.starts_at) / A_MINUTE))
    return came, left


def levels_of(rulings: Iterable[tuple[int, Ceiling]]) -> dict[int, Level]:
    return {player: ceiling.level for player, ceiling in rulings}
