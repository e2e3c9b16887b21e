"""The ledgers of a squad side by side: who was trained how much, what was longest left alone, and this week's load."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from django.db.models import TextField
from django.db.models.functions import Cast
from django.utils import timezone

from planner.core.exposure import Spell, family, figures, target_over
from planner.core.load import Measured, Missing, known_of, weekly_load
from planner.core.load_gaps import Gap
from planner.core.record import Took
from planner.core.rpe import Did
from planner.core.totals import ONE_DAY
from planner.ledger import Weeks
from planner.ledger_loads import LoadDay, last_counted, load_day
from planner.ledger_skills import SkillLine, confirmed_stretches, shares_in, skill_minutes, unconfirmed_spells
from planner.models import GroupTarget
from planner.rpe_days import done_on
from planner.totals import WEEK
from planner.unconfirmed import NotTold, Open
from squads.models import Player, Squad

WEEKS_SHOWN = 4
LOOKED_BACK = 12  # weeks, for what was left alone


@dataclass(frozen=True, slots=True)
class WeekLoad:
    """`load` of the whole week, or of as much of it as has been; AU. `open_days` are not known; `is_unconfirmed`: some
    of it is by minutes as they were planned."""

    load: Measured
    known: float
    open_days: int
    is_unconfirmed: bool = False


@dataclass(frozen=True, slots=True)
class SquadLine:
    """`covered` minutes of `target`, skill by skill, `unconfirmed` of them on nights that nobody has confirmed in 48
    hours. `load` None: nothing at all is known of these weeks.

    `numbers_missing`: nights and matches of these weeks that he took part in and that have no load.
    """

    player: Player
    covered: float
    target: float
    unconfirmed: float
    left_alone: SkillLine | None
    load: WeekLoad | None
    numbers_missing: int


@dataclass(frozen=True)
class SquadLedger:
    squad: Squad
    today: dt.date
    weeks: Weeks
    lines: tuple[SquadLine, ...]
    open_days: tuple[dt.date, ...]

    @property
    def last_day(self) -> dt.date:
        return min(self.weeks.last_day, self.today)


def squad_ledger_of(squad: Squad, last_monday: dt.date, today: dt.date) -> SquadLedger:
    """In seven queries, whatever the number of players, and in those of `Open.of` where a night has not been confirmed
    in 48 hours; the squad's club should be fetched with it."""
    weeks = Weeks(last_monday, WEEKS_SHOWN)
    first, last = weeks.first_day, min(weeks.last_day, today)
    players = list(Player.objects.filter(squad=squad).in_squad_on(first, last).select_related("squad"))
    still_open = Open.of(squad, last - LOOKED_BACK * WEEK, last, timezone.now())
    spells, targets = spells_by_player(players, first, last, still_open), targets_by_group(squad)
    did, open_on = did_by_player(squad, first, last, still_open), still_open.not_told(first, last)
    lines = (
        SquadLine(
            player,
            *trained(player, spells[player.pk], targets[player.group], first, last),
            week_load(did[player.pk], open_on, last_monday, last_counted(did[player.pk], last, today)),
            numbers_missing(did[player.pk], open_on),
        )
        for player in players
    )
    return SquadLedger(squad, today, weeks, tuple(lines), tuple(sorted(open_on)))


def spells_by_player(
    players: list[Player], first: dt.date, last: dt.date, still_open: Open
) -> Mapping[int, list[Spell]]:
    """Of confirmed nights, what each card gave a player from `first` on, on the last day on which he worked at it; then
    of those that count although nobody has confirmed them."""
    roles = {player.pk: player.roles for player in players}
    found: dict[int, list[Spell]] = defaultdict(list)
    squads = {player.squad_id for player in players}
    for (player, text), (minutes, day) in minutes_taught(squads, first, last).items():
        for code, much in skill_minutes(minutes, shares_in(text), roles.get(player, frozenset())):
            found[player].append(Spell(player, day, code, much))
    by_key, took = {player.pk: player for player in players}, took_by_player(still_open)
    for key in took.keys() & by_key.keys():
        found[key].extend(unconfirmed_spells(by_key[key], took[key]))
    return found


def took_by_player(still_open: Open) -> Mapping[int, list[Took]]:
    found: dict[int, list[Took]] = defaultdict(list)
    for each in still_open.took:
        found[each.player].append(each)
    return found


def minutes_taught(squads: set[int], first: dt.date, last: dt.date) -> Mapping[tuple[int, str], tuple[int, dt.date]]:
    """By player and the skills of a card, as text: minutes from `first` on, and the last day of twelve weeks."""
    there = confirmed_stretches(last - LOOKED_BACK * WEEK, last).filter(
        line__account__session__squad__in=squads, line__account__drill__isnull=False
    )
    skills = Cast("line__account__skills", TextField())
    found: dict[tuple[int, str], tuple[int, dt.date]] = {}
    for player, day, text, minutes in there.values_list("player", "line__account__session__day", skills, "minutes"):
        much, latest = found.get((player, text), (0, day))
        found[player, text] = much + (minutes if day >= first else 0), max(latest, day)
    return found


Wanted = dict[str, tuple[str, int]]  # name, and minutes in four weeks, by code


def targets_by_group(squad: Squad) -> Mapping[str, Wanted]:
    found: dict[str, Wanted] = defaultdict(dict)
    rows = GroupTarget.objects.filter(squad=squad, skill__retired_on=None, minutes__gt=0)
    for group, code, name, minutes in rows.values_list("group", "skill__code", "skill__name", "minutes"):
        found[group][code] = name, minutes
    return found


def trained(
    player: Player, spells: list[Spell], wanted: Wanted, first: dt.date, last: dt.date
) -> tuple[float, float, float, SkillLine | None]:
    """Minutes covered, their target, how many of them are not confirmed, and the skill of those wanted that was longest
    left alone."""
    targets = {code: target_over(minutes, WEEKS_SHOWN) for code, (_name, minutes) in wanted.items()}
    asked = [figure for code, figure in figures(spells, targets, first).items() if code in wanted]
    whole = family("", asked)
    lines = (SkillLine(f"{each.name} {wanted[each.name][0]}", "", each, each.weeks_since(last)) for each in asked)
    unconfirmed = sum(each.covered_unconfirmed for each in asked)
    return whole.covered, whole.target, unconfirmed, min(lines, key=lambda line: line.urgency, default=None)


def did_by_player(
    squad: Squad, first: dt.date, last: dt.date, still_open: Open
) -> Mapping[int, dict[dt.date, Mapping[str, Did]]]:
    found: dict[int, dict[dt.date, Mapping[str, Did]]] = defaultdict(dict)
    for (player, day), did in done_on(Player.objects.filter(squad=squad), first, last).items():
        found[player][day] = still_open.with_planned(player, day, did)
    return found


def week_load(
    did: Mapping[dt.date, Mapping[str, Did]], open_on: NotTold, monday: dt.date, last: dt.date
) -> WeekLoad | None:
    if not did:
        return None
    days = list(days_of(did, open_on, monday, last))
    known, _all = known_of(day.load for day in days)
    load = weekly_load([day.load for day in days]) if len(days) == 7 else Missing.TOO_EARLY
    return WeekLoad(load, sum(known), len(days) - len(known), any(day.is_unconfirmed for day in days))


def days_of(
    did: Mapping[dt.date, Mapping[str, Did]], open_on: NotTold, monday: dt.date, last: dt.date
) -> Iterator[LoadDay]:
    for day in (monday + n * ONE_DAY for n in range((last - monday).days + 1)):
        yield load_day(day, did.get(day, {}), open_on.get(day, ()))


def numbers_missing(did: Mapping[dt.date, Mapping[str, Did]], open_on: NotTold) -> int:
    days = (load_day(day, done, open_on.get(day, ())) for day, done in did.items())
    return sum(lack.gap is not Gap.NOT_TOLD for day in days for lack in day.lacks)
