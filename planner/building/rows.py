"""Everything a block's planning problem is made from, fetched in a fixed number of queries."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from django.db.models import Exists, F, OuterRef, Prefetch, Q

from drills.models import Drill, DrillSkill
from planner.attendance import Words, words_of
from planner.building.patterns import patterns_on
from planner.core.pattern import Pattern
from planner.models import Block, Fixture, GroupTarget, Place, Session, Slot, Station
from planner.programme import sessions_of
from planner.record import Records
from planner.record_models import Account, Declared, Presence
from planner.swap_models import Swap, swaps_of
from planner.wish_models import BlockWishes
from squads.models import Absence, Clearance, ContactRules, Player
from squads.return_models import ReturnEntry

# A match this many days outside the block still shapes its first and last nights.
NEAR_A_MATCH = dt.timedelta(days=14)


@dataclass(frozen=True)
class Rows:
    """`nights` are the block's sessions and `earlier` those before it whose ladder minutes may still count;
    `drills` holds the retired ones too, since they may stand in a programme. `rules` are in order of precedence.
    `run_before` are drills that ran before the block and `next_day` is that of the squad's first night after it;
    both are fetched only where the block's wishes ask for them. `patterns` by the Monday of their week, `swaps` by
    the key of their session. `records`: what was told of nights that have begun; `declared`: of contact elsewhere.
    """

    block: Block
    players: list[Player]
    drills: dict[int, Drill]
    nights: list[Session]
    earlier: list[Session]
    rules: list[ContactRules]
    targets: list[GroupTarget]
    focus: frozenset[str]
    absences: dict[int, list[Absence]]
    clearances: dict[int, list[Clearance]]
    returns: dict[int, list[ReturnEntry]]
    matches: list[dt.date]
    wishes: BlockWishes | None
    run_before: frozenset[int]
    next_day: dt.date | None
    words: Words
    patterns: Mapping[dt.date, Pattern]
    swaps: Mapping[int, Swap]
    records: Records = field(default_factory=Records)
    declared: Sequence[Declared] = ()

    @property
    def left_out(self) -> set[int]:
        """Keys of the drills that are not to run at all in the block."""
        return (
            {wish.drill_id for wish in self.wishes.drill_wishes.all() if wish.runs_most == 0} if self.wishes else set()
        )

    def rules_on(self, day: dt.date) -> ContactRules | None:
        """The rules in force that day, as ContactRules.objects.in_force would choose them."""
        return next((rules for rules in self.rules if rules.valid_from <= day), None)


def rows_of(block: Block) -> Rows:
    """The block's squad and club should be fetched with it."""
    squad, first, last = block.squad, block.first_day, block.last_day
    rules = list(rules_by_precedence(block))
    earliest = first - dt.timedelta(days=max((each.ladder_days for each in rules), default=0))
    sessions = list(sessions_between(block, earliest, last))
    wishes = BlockWishes.objects.filter(block=block).with_all().first()
    nothing_new = wishes is not None and wishes.nothing_new
    clearances = Clearance.objects.filter(player__squad=squad, from_day__lte=last)
    players, records, words = list(players_of(block)), Records.of(told_among(sessions)), words_of(sessions)
    return Rows(
        block=block,
        players=players,
        drills={drill.pk: drill for drill in drills_of(block)},
        nights=[session for session in sessions if session.day >= first],
        earlier=[session for session in sessions if session.day < first],
        rules=rules,
        targets=list(GroupTarget.objects.filter(squad=squad, skill__retired_on=None).select_related("skill")),
        focus=frozenset(block.focus.values_list("code", flat=True)),
        absences=by_player(Absence.objects.filter(player__squad=squad, last_day__gte=earliest, first_day__lte=last)),
        clearances=by_player(clearances),
        returns=by_player(ReturnEntry.objects.behind(clearances)),
        matches=list(
            Fixture.objects.filter(squad=squad, day__gte=first - NEAR_A_MATCH, day__lte=last + NEAR_A_MATCH)
            .played_or_due()
            .values_list("day", flat=True)
        ),
        wishes=wishes,
        run_before=frozenset(drills_run_before(block) if nothing_new else ()),
        next_day=day_of_next_night(block) if nothing_new else None,
        words=words | records.words(players, words),
        patterns=patterns_on(squad, earliest, last),
        swaps=swaps_of(sessions),
        records=records,
        declared=list(Declared.objects.filter(player__squad=squad).counting().of_members().between(first, last)),
    )


def players_of(block: Block) -> Iterable[Player]:
    """Members on some day of the block, and who stands or stood in its programme although he has left."""
    squad, first, last = block.squad, block.first_day, block.last_day
    placed = Place.objects.filter(slot__session__in=sessions_of(block))
    came = Presence.objects.filter(line__account__session__in=sessions_of(block))
    standing = squad.players.filter(Q(pk__in=placed.values("player")) | Q(pk__in=came.values("player")))
    return (squad.players.in_squad_on(first, last) | standing).select_related("squad")


def rules_by_precedence(block: Block) -> Iterable[ContactRules]:
    """Rules valid by the end of the block: those of the squad before those of the club, newest first."""
    return (
        ContactRules.objects.of(block.squad.club)
        .filter(Q(squad=block.squad) | Q(squad=None), valid_from__lte=block.last_day)
        .order_by(F("squad").asc(nulls_last=True), "-valid_from", "-pk")
    )


def sessions_between(block: Block, first: dt.date, last: dt.date) -> Iterable[Session]:
    slots = Slot.objects.prefetch_related(Prefetch("stations", Station.objects.prefetch_related("places")))
    sessions = Session.objects.filter(squad=block.squad).select_related("squad__club")
    sessions = sessions.annotate(is_told=Exists(Account.objects.filter(session=OuterRef("pk"))))
    return sessions.between(first, last).prefetch_related(Prefetch("slots", slots))


def told_among(sessions: Iterable[Session]) -> list[Session]:
    return [session for session in sessions if session.is_told]


def drills_run_before(block: Block) -> Iterable[int]:
    """Keys of the drills at which somebody of the squad stood before the block."""
    nights = Session.objects.filter(squad=block.squad, cancelled=False, day__lt=block.first_day)
    stations = Station.objects.filter(slot__session__in=nights, places__isnull=False)
    return stations.order_by().values_list("drill", flat=True).distinct()


def day_of_next_night(block: Block) -> dt.date | None:
    after = Session.objects.filter(squad=block.squad, cancelled=False, day__gt=block.last_day)
    return after.order_by("day").values_list("day", flat=True).first()


def drills_of(block: Block) -> Iterable[Drill]:
    shares = Prefetch("skill_shares", DrillSkill.objects.select_related("skill"))
    return Drill.objects.of(block.squad.club).select_related("ladder").prefetch_related(shares)


def by_player(rows: Iterable[Absence | Clearance | ReturnEntry]) -> dict[int, list]:
    found = defaultdict(list)
    for row in rows:
        found[row.player_id].append(row)
    return found
