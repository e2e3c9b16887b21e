"""Everything a block's planning problem is made from, fetched in a fixed number of queries."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from drills.models import Drill
from planner.attendance import Words
from planner.core.pattern import Pattern
from planner.days import NEAR_A_MATCH, Days, rules_until
from planner.models import Block, GroupTarget, Session, Station
from planner.record import Records
from planner.record_models import Declared
from planner.swap_models import Swap, swaps_of
from planner.wish_models import BlockWishes
from squads.models import Absence, Clearance, ContactRules, Player
from squads.return_models import ReturnEntry


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


def rows_of(block: Block, days: Days | None = None) -> Rows:
    """The block's squad and club should be fetched with it. `days`, from `days_to_plan`, hold those of the block."""
    first, last = block.first_day, block.last_day
    days = days or days_to_plan([block], first, last)
    earliest = first_to_count(block, days.rules)
    days = days.cut(earliest, last)
    sessions = days.sessions
    wishes = BlockWishes.objects.filter(block=block).with_all().first()
    nothing_new = wishes is not None and wishes.nothing_new
    return Rows(
        block=block,
        players=list(days.players_between(first, last).values()),
        drills=days.drills,
        nights=[session for session in sessions if session.day >= first],
        earlier=[session for session in sessions if session.day < first],
        rules=days.rules,
        targets=list(GroupTarget.objects.filter(squad=block.squad, skill__retired_on=None).select_related("skill")),
        focus=frozenset(block.focus.values_list("code", flat=True)),
        absences=days.absences,
        clearances=days.clearances,
        returns=days.returns,
        matches=[day for day in days.matches if day >= first - NEAR_A_MATCH],
        wishes=wishes,
        run_before=frozenset(drills_run_before(block) if nothing_new else ()),
        next_day=day_of_next_night(block) if nothing_new else None,
        words=days.words,
        patterns=days.patterns,
        swaps=swaps_of(sessions),
        records=days.records,
        declared=[row for row in days.declared if row.day >= first],
    )


def days_to_plan(blocks: Sequence[Block], first: dt.date, last: dt.date) -> Days:
    """From first to last at least, and all days that these blocks of one squad ask for."""
    squad = blocks[0].squad
    last = max(last, *(block.last_day for block in blocks))
    rules = list(rules_until(squad, last))
    first = min(first, *(first_to_count(block, rules) for block in blocks))
    return Days.of(squad, first, last, rules=rules, to_plan=True)


def first_to_count(block: Block, rules: Iterable[ContactRules]) -> dt.date:
    """The first day whose ladder minutes may still count, by the rules that are valid until the block ends."""
    days = (each.ladder_days for each in rules if each.valid_from <= block.last_day)
    return block.first_day - dt.timedelta(days=max(days, default=0))


def drills_run_before(block: Block) -> Iterable[int]:
    """Keys of the drills at which somebody of the squad stood before the block."""
    nights = Session.objects.filter(squad=block.squad, cancelled=False, day__lt=block.first_day)
    stations = Station.objects.filter(slot__session__in=nights, places__isnull=False)
    return stations.order_by().values_list("drill", flat=True).distinct()


def day_of_next_night(block: Block) -> dt.date | None:
    after = Session.objects.filter(squad=block.squad, cancelled=False, day__gt=block.last_day)
    return after.order_by("day").values_list("day", flat=True).first()
