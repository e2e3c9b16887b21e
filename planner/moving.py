"""What a change of the calendar would do to the weeks around it.

The change is made in a savepoint, looked at, and taken back. So the very code that judges what stands judges
what would stand, and nothing is reckoned a second time.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from django.db import transaction

from planner.build import problem_of
from planner.building.house_rules import CLOSE_TO_A_MATCH
from planner.core.breach import Breach
from planner.core.calendar import A_WEEK, MatchDistance, match_distance, monday_of
from planner.core.pattern_fit import Matches
from planner.days import Days
from planner.models import Block, Fixture, Session
from planner.overview import Overview
from planner.patterns import fixtures_near, matches_of
from planner.totals import LOOK_BACK, WeekTotals, stretches_by_player, week_totals
from planner.verdicts import what_is_broken
from planner.weeks import blocks_in
from shared.core.contact import Kind
from squads.core.eligibility import Ceiling, MatchRules, by_matches, lowest
from squads.models import Squad

REACH = A_WEEK  # no rule looks further from a match
# From the lightest to the heaviest.
HEAVIEST = (Kind.NONE, Kind.CONTROLLED, Kind.SET_PIECE, Kind.FULL)


@dataclass(frozen=True)
class Picture:
    """How a squad stands in the training weeks from some Mondays, as seen on `today`. What is past is left out.

    `weeks`: contact by Monday. `blocks`: those that meet the weeks, with what they break.
    """

    squad: Squad
    today: dt.date
    days: Days
    fixtures: tuple[Fixture, ...]
    matches: Matches
    weeks: Mapping[dt.date, WeekTotals]
    blocks: Mapping[Block, Overview]

    @classmethod
    def of(cls, squad: Squad, mondays: list[dt.date], today: dt.date) -> Picture:
        """The squad's club should be fetched with it; `mondays` in order, one at least."""
        last = mondays[-1] + LOOK_BACK
        days = Days.of(squad, mondays[0] - LOOK_BACK, last)
        by_player = stretches_by_player(days)
        blocks = [block for block in blocks_in(squad, mondays[0], last) if meets(block, mondays)]
        built = {block: problem_of(block, today=today, as_it_stands=True) for block in blocks}
        fixtures = tuple(fixtures_near(squad, mondays[0], last))
        return cls(
            squad,
            today,
            days,
            fixtures,
            matches_of(fixtures),
            {monday: week_totals(days, monday, by_player) for monday in mondays},
            {block: Overview(each, each.programme) for block, each in built.items()},
        )

    @cached_property
    def sessions(self) -> dict[int, Session]:
        """Those ahead, by their keys, in the order of time."""
        return {s.pk: s for s in self.days.sessions if s.day >= self.today and monday_of(s.day) in self.weeks}

    @cached_property
    def match_days(self) -> list[dt.date]:
        return sorted(set(self.days.matches))

    def distance(self, day: dt.date) -> MatchDistance:
        return match_distance(day, self.match_days)

    @cached_property
    def broken(self) -> dict[tuple, tuple[Block, Breach]]:
        """What the programme breaks, by rule and place."""
        found = ((block, breach) for block, overview in self.blocks.items() for breach in overview.breaches)
        return {(block.pk, *what_is_broken(breach)): (block, breach) for block, breach in found}

    def match_rules(self, day: dt.date) -> MatchRules:
        """Those of the contact rules in force, or common practice where none are chosen."""
        rules = self.days.rules_on(day)
        return rules.match_rules if rules else CLOSE_TO_A_MATCH

    def by_matches(self, day: dt.date) -> Ceiling:
        """The most that the matches around it leave of the day."""
        return lowest(by_matches(day, self.match_days, self.match_rules(day)))

    @cached_property
    def too_close(self) -> dict[tuple[int, Kind], tuple[Session, Ceiling]]:
        """Sessions that hold heavier contact than the matches around them allow, by key and that kind."""
        found = ((session, heaviest(session), self.by_matches(session.day)) for session in self.sessions.values())
        return {(s.pk, kind): (s, ceiling) for s, kind, ceiling in found if not ceiling.level.allows(kind)}

    def days_with(self, monday: dt.date, *kinds: Kind) -> set[dt.date]:
        """Days of the week on which contact of these kinds stands."""
        here = self.days.between(monday, monday + LOOK_BACK)
        return {session.day for session in here if kinds_in(session) & set(kinds)}

    def days_without_contact(self, monday: dt.date) -> int:
        """Days of the week with neither a match nor contact in training."""
        matches = {day for day in self.match_days if monday <= day <= monday + LOOK_BACK}
        return 7 - len(matches | self.days_with(monday, *HEAVIEST[1:]))


def meets(block: Block, mondays: Iterable[dt.date]) -> bool:
    return any(monday <= block.last_day and block.first_day <= monday + LOOK_BACK for monday in mondays)


def kinds_in(session: Session) -> set[Kind]:
    return {Kind.NONE, *_kinds(session)}


def _kinds(session: Session) -> Iterator[Kind]:
    for slot in session.slots.all():
        if slot.is_planned:
            yield from (station.drill.kind for station in slot.stations.all() if station.drill.contact_share)
        elif slot.contact_share:
            yield Kind(slot.kind)


def heaviest(session: Session) -> Kind:
    return max(kinds_in(session), key=HEAVIEST.index)


@dataclass(frozen=True)
class Difference:
    before: Picture
    after: Picture

    @property
    def newly_broken(self) -> list[tuple[Block, Breach]]:
        """Rules that the programme would break and did not, in the order of the rules."""
        return [self.after.broken[key] for key in self.after.broken if key not in self.before.broken]

    @property
    def mended(self) -> int:
        return len(self.before.broken.keys() - self.after.broken.keys())

    @property
    def on_match_days(self) -> list[Session]:
        """Sessions that would stand on the day of a match and did not."""
        was = {key for key, session in self.before.sessions.items() if session.day in self.before.match_days}
        return [s for key, s in self.after.sessions.items() if s.day in self.after.match_days and key not in was]

    @property
    def to_deal_again(self) -> Block | None:
        """The block in which most rules would newly be broken."""
        blocks = [block for block, _breach in self.newly_broken]
        return max(dict.fromkeys(blocks), key=blocks.count, default=None)


def what_if(squad: Squad, days: Iterable[dt.date], change: Callable[[], object], today: dt.date) -> Difference | None:
    """What `change` does to the weeks around these days; it is taken back. None where all of them are past.

    Raises what `change` raises.
    """
    mondays = weeks_around(days, today)
    with transaction.atomic():
        before = Picture.of(squad, mondays, today) if mondays else None
        looked_into(before)
        change()
        after = Picture.of(squad, mondays, today) if mondays else None
        looked_into(after)
        transaction.set_rollback(True)
    return Difference(before, after) if before and after else None


def looked_into(picture: Picture | None) -> None:
    """All that asks the database is asked while the change stands."""
    if picture:
        _ = picture.broken, picture.too_close


def weeks_around(days: Iterable[dt.date], today: dt.date) -> list[dt.date]:
    """The Mondays of the weeks within reach of the days, this week and later."""
    reached = {monday_of(day + offset) for day in days for offset in (-REACH, dt.timedelta(), REACH)}
    return sorted(monday for monday in reached if monday >= monday_of(today))
