"""A player's ledger: what he was trained in, against what his group should get, and the load of his days.

A description of what was recorded and said. It advises nothing, and nothing here says who is fit for what.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.db.models import F, OuterRef, Q, QuerySet, Subquery
from django.utils import timezone

from planner.core.ladder import RungFigure
from planner.core.load import Deviation
from planner.core.totals import monday_of
from planner.ledger_loads import PlayerLoads, loads_of
from planner.ledger_skills import (
    SkillLine,
    planned_for,
    rungs_of,
    skill_lines,
    spells_of,
    trained_by,
    unconfirmed_spells,
    wanted_of,
)
from planner.load_models import DeviationChosen
from planner.models import Season
from planner.totals import LOOK_BACK, WEEK
from planner.unconfirmed import Open
from planner.windows import LONGEST_SEASON
from squads.models import ContactRules, Player

YEAR = 52 * WEEK  # so far back a skill or a rung is looked for
SPANS = (4, 12)
USUAL_MINUTES, USUAL_DAYS = (
    ContactRules._meta.get_field(name).default for name in ("ladder_minutes", "ladder_days")
)  # of a rung, where no rules are in force


@dataclass(frozen=True, slots=True)
class Weeks:
    """So many weeks up to the one from `last_monday`."""

    last_monday: dt.date
    count: int

    @property
    def first_day(self) -> dt.date:
        return self.last_monday - (self.count - 1) * WEEK

    @property
    def last_day(self) -> dt.date:
        return self.last_monday + LOOK_BACK

    @property
    def before(self) -> dt.date:
        return self.last_monday - WEEK

    @property
    def after(self) -> dt.date:
        return self.last_monday + WEEK


@dataclass(frozen=True)
class Ledger:
    """`needed`: minutes on a rung, and within how many days, that pass it."""

    player: Player
    today: dt.date
    weeks: Weeks
    skills: tuple[SkillLine, ...]
    rungs: tuple[RungFigure, ...]
    needed: tuple[int, int]
    loads: PlayerLoads

    @property
    def last_day(self) -> dt.date:
        """No day that is still to come."""
        return min(self.weeks.last_day, self.today)


def with_terms(players: QuerySet[Player], day: dt.date) -> QuerySet[Player]:
    """With what a ledger up to that day asks beside the record, in the query that fetches the player: the first day of
    the season, what passes a rung by the contact rules in force, and the deviation that the club chose."""
    season = Season.objects.filter(squad=OuterRef("squad"), first_day__lte=day).order_by("-first_day")
    rules = ContactRules.objects.filter(
        Q(squad=OuterRef("squad")) | Q(squad=None), club=OuterRef("squad__club"), valid_from__lte=day
    ).order_by(F("squad").asc(nulls_last=True), "-valid_from", "-pk")
    chosen = DeviationChosen.objects.filter(club=OuterRef("squad__club")).newest_first()
    return players.select_related("squad__club").annotate(
        season_from=Subquery(season.values("first_day")[:1]),
        rung_minutes=Subquery(rules.values("ladder_minutes")[:1]),
        rung_days=Subquery(rules.values("ladder_days")[:1]),
        deviation=Subquery(chosen.values("deviation")[:1]),
    )


def season_from(player: Player, day: dt.date) -> dt.date:
    """As planner.windows.season_start has it, of a player `with_terms`."""
    return player.season_from or day - LONGEST_SEASON


def weeks_of_season(player: Player, last_monday: dt.date) -> Weeks:
    first = monday_of(season_from(player, last_monday + LOOK_BACK))
    return Weeks(last_monday, (last_monday - first).days // 7 + 1)


def ledger_of(player: Player, weeks: Weeks, today: dt.date) -> Ledger:
    """In seven queries, for a player `with_terms` of the last day of these weeks; in one more while a night is open,
    and in as many as a squad's days take where one has not been confirmed in 48 hours."""
    first, last, season = weeks.first_day, min(weeks.last_day, today), season_from(player, weeks.last_day)
    looked_back = min(first, last - YEAR)
    trained = trained_by(player, looked_back, last)
    still_open = Open.of(player.squad, min(looked_back, season), last, timezone.now(), only=player)
    planned = planned_for(player, still_open.nights_begun(first))
    spells = (*spells_of(player, trained), *unconfirmed_spells(player, still_open.took))
    needed = (USUAL_MINUTES, USUAL_DAYS) if player.rung_days is None else (player.rung_minutes, player.rung_days)
    deviation = Deviation(player.deviation or Deviation.POPULATION)
    return Ledger(
        player,
        today,
        weeks,
        tuple(skill_lines(spells, wanted_of(player), planned, first, last)),
        tuple(rungs_of(trained, *needed)),
        needed,
        loads_of(player, season, first, last, today, deviation, still_open),
    )
