"""What is wished for and what binds: targets, load bands, limits."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator

from planner.building.attendance import Attendance
from planner.building.house_rules import (
    BAND_WEIGHT,
    MAIN_WEIGHT,
    REPEATS_A_WEEK,
    TARGET_WEEKS,
    USUAL_WEIGHT,
    WEEKLY_FROM,
)
from planner.building.nights import Nights
from planner.building.rows import Rows
from planner.core import problem as core
from planner.models import Block, GroupTarget
from squads.models import ContactRules, Player


def player_id(key: int) -> str:
    return f"p{key}"


def targets(rows: Rows, players: list[Player]) -> Iterator[core.Target]:
    """Each player has the minutes of the group of his main position; main skills weigh more and come weekly."""
    by_group: dict[str, list[GroupTarget]] = defaultdict(list)
    for target in rows.targets:
        by_group[target.group].append(target)
    for player in players:
        for target in by_group[player.group]:
            code, is_main = target.skill.code, target.skill.code in rows.focus
            if minutes := scaled(target, rows.block):
                weight = MAIN_WEIGHT if is_main else USUAL_WEIGHT
                weekly = is_main and target.minutes >= WEEKLY_FROM
                yield core.Target(player_id(player.pk), code, minutes, weight, weekly)


def scaled(target: GroupTarget, block: Block) -> int:
    """Minutes in this block: the usual four-week figure by the length of the block and the share chosen for it."""
    return round(target.minutes * block.weeks / TARGET_WEEKS * block.target_percent / 100)


def bands(rows: Rows, nights: Nights, attendance: Attendance, fixed: dict[tuple[int, int], int]) -> Iterator[core.Band]:
    """The block's weekly band less the load of fixed content, for the weeks that a player attends.

    Who misses some of a week's nights owes the same share of `low`: one night must not be made to carry two.
    """
    for week, minutes in sorted(minutes_of_weeks(nights).items()):
        for player in attendance.players:
            here = sum(m for night, m in minutes if attendance.is_there(player.pk, night))
            if here:
                taken = fixed.get((player.pk, week), 0)
                low = round(rows.block.load_low * here / sum(m for _night, m in minutes))
                yield core.Band(
                    player_id(player.pk), week, max(0, low - taken), max(0, rows.block.load_high - taken), BAND_WEIGHT
                )


def minutes_of_weeks(nights: Nights) -> dict[int, list]:
    """(night, minutes of the whole night) of the weeks that have nights in the problem."""
    found: dict[int, list] = defaultdict(list)
    for night in nights.used:
        found[nights.week(night)].append((night, sum(slot.minutes for slot in night.slots.all())))
    return found


def rules_in_force(rows: Rows, nights: Nights) -> list[ContactRules]:
    """All rules that are in force on a day of the block that is still open, in the order in which they are."""
    first, last = rows.block.first_day, rows.block.last_day
    if nights.keep_past:
        first = min(max(first, nights.today), last)
    days = (first + dt.timedelta(days=n) for n in range((last - first).days + 1))
    return list(dict.fromkeys(rules for day in days if (rules := rows.rules_on(day))))


def limits(rules: list[ContactRules]) -> core.Limits:
    """The stricter figure of each limit, when rules change within the block; without rules no contact limit."""
    if not rules:
        return core.Limits(repeats_per_week=REPEATS_A_WEEK)
    weekly: dict[core.Contact, float] = {}
    for kind, minutes in ((kind, minutes) for each in rules for kind, minutes in each.weekly.items()):
        contact = core.Contact(kind)
        weekly[contact] = min(minutes, weekly.get(contact, minutes))
    return core.Limits(
        weekly=weekly,
        full_days_per_week=min((r.full_days for r in rules if r.full_days is not None), default=None),
        repeats_per_week=REPEATS_A_WEEK,
        ladder=core.LadderRule(max(r.ladder_minutes for r in rules), min(r.ladder_days for r in rules)),
    )
