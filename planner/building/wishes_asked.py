"""What the coach wishes of nights, drills and players, as keys of the planning problem.

Past nights are facts, which no wish of today may break: they carry none, every slot of them ends a row of hard
work, and who is to be kept apart from now on was so there. What ran on them counts towards how often a drill runs.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _

from drills.models import Drill, Family
from planner.building.library import drill_id
from planner.building.nights import Nights, session_id
from planner.building.rows import Rows
from planner.building.wishes import player_id
from planner.coach_names import is_named
from planner.core import problem as core
from planner.models import Session, Station
from planner.programme import session_name
from planner.wish_models import BlockWishes, DrillWish, Favourite
from shared.models import User


def theme_of(drill: Drill) -> Family | None:
    """The family of the skill that has most of the drill; None where skills of several families share that place."""
    shares = [(entry.share, entry.skill.family) for entry in drill.skill_shares.all()]
    most = max((share for share, _family in shares), default=0)
    families = {family for share, family in shares if share == most}
    return Family(families.pop()) if len(families) == 1 else None


def theme_id(theme: Family) -> str:
    return theme.name.lower()


THEMES = {theme_id(theme): theme.label for theme in Family}


@dataclass(frozen=True)
class Asked:
    """The wishes of a block with what they are about; `wishes` is None where nobody has wished for anything."""

    wishes: BlockWishes | None
    rows: Rows
    nights: Nights

    @cached_property
    def of_drill(self) -> dict[int, DrillWish]:
        return {wish.drill_id: wish for wish in self.wishes.drill_wishes.all()} if self.wishes else {}

    @property
    def favourites(self) -> list[Favourite]:
        return list(self.wishes.favourites.all()) if self.wishes else []

    @property
    def favoured(self) -> dict[int, list[User]]:
        """Key of a drill -> the coaches among whose favourites it is."""
        found: dict[int, list[User]] = {}
        for favourite in self.favourites:
            for drill in favourite.drills.all():
                found.setdefault(drill.pk, []).append(favourite.coach.user)
        return found

    @cached_property
    def pairs(self) -> Collection[frozenset[int]]:
        """Players who are kept apart whatever the drill."""
        pairs = self.wishes.apart.all() if self.wishes else ()
        return {frozenset((pair.first_id, pair.second_id)) for pair in pairs if not pair.contact_only}

    # Drills

    def drill(self, drill: core.Drill, row: Drill) -> core.Drill:
        if self.wishes is None:
            return drill
        theme = theme_of(row) if self.wishes.themes_most else None
        drill = replace(drill, theme=theme_id(theme) if theme else None)
        wish = self.of_drill.get(row.pk)
        return self._wished(drill, wish) if wish else drill

    def _wished(self, drill: core.Drill, wish: DrillWish) -> core.Drill:
        return replace(
            drill,
            fresh=wish.fresh,
            repeats=self._repeats(wish),
            units=core.Units(wish.units, core.Keep(wish.keep), wish.unit_least) if wish.keep else None,
            kit=drill.kit | ({rest_id(wish.drill_id): 1} if wish.drill_id in self.resting else {}),
        )

    def _repeats(self, wish: DrillWish) -> core.Repeats:
        """For the nights that are left: what has run counts."""
        ran = len(self.days_run(wish.drill_id))
        most = None if wish.runs_most is None else max(0, wish.runs_most - ran)
        least = max(0, wish.runs_least - ran)
        return core.Repeats(least, most, wish.gap_days, wish.matters if least else 0)

    def days_run(self, drill: int) -> list[dt.date]:
        """The days of past nights on which it ran, in order, one for each time."""
        return [night.day for night, _slot, station in self._past_stations if station.drill_id == drill]

    @cached_property
    def _past_stations(self) -> list[tuple[Session, Any, Station]]:
        return [each for each in self.nights.stations(self.nights.past) if each[2].standing]

    @cached_property
    def resting(self) -> dict[int, dt.date]:
        """Drills whose gap after a past night reaches into the nights that are left -> that night's day.

        The problem does not know a past station's drill, so the rest is told as a piece of kit that those nights lack.
        """
        last = {key: max(days) for key in self.of_drill if (days := self.days_run(key))}
        return {
            key: day for key, day in last.items() if any(self._rests(key, day, night) for night in self.nights.open)
        }

    def _rests(self, drill: int, last: dt.date, night: Session) -> bool:
        return (night.day - last).days < self.of_drill[drill].gap_days

    # Nights

    def session(self, session: core.Session, night: Session) -> core.Session:
        if self.wishes is None:
            return session
        if self.nights.is_past(night):
            return replace(session, breaks=tuple(range(1, len(session.slots))))
        return replace(
            session,
            themes_most=self.wishes.themes_most,
            nothing_new=night.pk in self.before_matches,
            breaks=tuple(breaks_in(night)) if self.wishes.hard_rpe else (),
            kit=session.kit
            | {rest_id(key): int(not self._rests(key, day, night)) for key, day in self.resting.items()},
        )

    @cached_property
    def before_matches(self) -> set[int]:
        """The last night before each match, where nothing new comes."""
        if not (self.wishes and self.wishes.nothing_new):
            return set()
        next_day, nights = self.rows.next_day, self.nights
        found = {
            before[-1].pk
            for match in self.rows.matches
            if (before := [night for night in nights.all if night.day < match]) and not (next_day and next_day < match)
        }
        return found & {night.pk for night in nights.open}

    # The problem as a whole

    def keys(self, drills: Collection[str], players: Collection[str]) -> dict[str, Any]:
        """What the problem itself says, of the drills and players that it holds."""
        if self.wishes is None:
            return {}
        wishes = self.wishes
        return {
            "known": tuple(key for key in map(drill_id, sorted(self._known)) if key in drills),
            "apart": tuple(self._apart(players)),
            "order": core.Order(wishes.tiring_rpe) if wishes.tiring_rpe else None,
            "hard_row": core.HardRow(wishes.hard_rpe, wishes.hard_most) if wishes.hard_rpe else None,
            "favourites": tuple(self._favourites(drills)),
        }

    @property
    def _known(self) -> set[int]:
        if not self.before_matches:
            return set()
        return {station.drill_id for _night, _slot, station in self._past_stations} | self.rows.run_before

    def _apart(self, players: Collection[str]) -> Iterator[core.Apart]:
        for pair in self.wishes.apart.all():
            both = player_id(pair.first_id), player_id(pair.second_id)
            if set(both) <= set(players):
                yield core.Apart(both, pair.contact_only)

    def _favourites(self, drills: Collection[str]) -> Iterator[core.Favourite]:
        for favourite in self.favourites:
            offered = tuple(key for drill in favourite.drills.all() if (key := drill_id(drill.pk)) in drills)
            nights = tuple(session_id(night.pk) for night in self.nights_of(favourite))
            if offered and nights:
                yield core.Favourite(str(favourite), offered, nights, favourite.matters)

    def nights_of(self, favourite: Favourite) -> list[Session]:
        """The nights that are left on which the coach is named, or nobody is: then he may be there."""
        return [
            night
            for night in self.nights.open
            if not night.coach_names or is_named(favourite.coach.user, ", ".join(night.coach_names))
        ]

    def words(self) -> dict[str, str]:
        """What the coach calls the themes and the rests."""
        if self.wishes is None:
            return {}
        rests = {rest_id(key): self._rest_words(key, day) for key, day in self.resting.items()}
        return {theme: str(label) for theme, label in THEMES.items()} | rests

    def _rest_words(self, drill: int, day: dt.date) -> str:
        night = next(night for night in self.nights.past if night.day == day)
        return _("run of %(drill)s so soon after %(night)s") % {
            "drill": self.rows.drills[drill],
            "night": session_name(night),
        }


REST = "rest of "


def rest_id(drill: int) -> str:
    return REST + drill_id(drill)


def is_rest(thing: str) -> bool:
    return thing.startswith(REST)


def breaks_in(night: Session) -> Iterator[int]:
    """The planned slots, counted from 0, that come after fixed content of RPE 0: water, a change, a talk."""
    planned, rested = 0, False
    for slot in night.slots.all():
        if slot.is_planned:
            if planned and rested:
                yield planned
            planned, rested = planned + 1, False
        elif not slot.rpe:
            rested = True


def parted(players: Iterable[int], pairs: Collection[frozenset[int]]) -> list[list[int]]:
    """The players in as few groups as they fall into in this order with nobody beside whom he is kept apart from."""
    if not pairs:
        return [list(players)]
    groups: list[list[int]] = [[]]
    for player in players:
        fitting = (group for group in groups if not any(frozenset((player, other)) in pairs for other in group))
        group = next(fitting, None)
        if group is None:
            groups.append(group := [])
        group.append(player)
    return groups
