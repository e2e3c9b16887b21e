"""Turns the rows of a block into one planning problem: the only place that does.

What has been run is a fact, not a wish. A past night keeps its stations, as drills that no rule of today
can forbid; their contact counts as accrued, their ladder minutes as done, and their days of full contact
lower what the rest of that week may hold. Fixed content of a slot counts the same way, past or to come. Of a
night that is under way the slots that have begun are past, and the others are open.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from planner.building import wishes
from planner.building.attendance import Attendance, Rulings
from planner.building.full_days import FullDays
from planner.building.house_rules import EVENNESS_WEIGHT, IDLE_WEIGHT
from planner.building.library import Library, drill_as_run, drill_id, kit_of
from planner.building.lower_weeks import LowerWeeks
from planner.building.nights import BEGUN, Nights, Place, dark_in, id_of, session_id
from planner.building.notes import notes_on
from planner.building.record import Record
from planner.building.rows import Rows, rows_of
from planner.building.under_way import UnderWay
from planner.building.wishes import player_id
from planner.building.wishes_asked import Asked, parted
from planner.core import problem as core
from planner.core.words import Words
from planner.days import Days
from planner.models import Block, Session, Slot
from planner.programme import Programme, programme_of, session_name, slot_name
from shared.core.contact import Level
from shared.core.positions import GROUPS
from shared.models import User
from squads.core.eligibility import Ceiling
from squads.models import ContactRules, Player

__all__ = ["BuiltProblem", "drill_id", "is_ran", "key_of", "player_id", "problem_of", "session_id"]


def key_of(name: str) -> int:
    """The key of the row that an id of a problem stands for."""
    return int(name[1:].removesuffix(BEGUN))


def ran_id(key: int, part: int = 0) -> str:
    """A station of a past night is a drill of its own in the problem, or one for each part of its players."""
    return f"r{key}-{part + 1}" if part else f"r{key}"


def station_of_ran(drill: str) -> int:
    """The key of the station that a drill of a past night stands for."""
    return key_of(drill.partition("-")[0])


def is_ran(drill: str) -> bool:
    return drill.startswith("r")


@dataclass(frozen=True)
class SheetWords(Words):
    """Calls a slot what the printed sheet calls it, fixed content counted; one that is gone by its number."""

    slots: Mapping[Place, str] | None = None

    def slot(self, session: str, slot: int) -> str:
        return (self.slots or {}).get((session, slot)) or Words.slot(self, session, slot)


@dataclass(frozen=True)
class BuiltProblem:
    """A problem with the way back to the rows.

    `reasons`: why a player (id) may not do all in a session (id). `notes`: what the coach should know about
    how the problem was made. `places`: key of each slot -> (session id, slot number). `past`: the stations
    of past nights in the terms of the problem. `begun`: keys of today's slots that have begun. `dark`: slots ahead
    that end after the lights go off, with their names. `programme`: what stands in the block now. `fixed_load`: AU of
    fixed content by key of the player and week, which the bands of the problem leave out. `favoured`: key of a
    drill -> the coaches who count it among their favourites.
    """

    problem: core.Problem
    reasons: dict[tuple[str, str], str]
    notes: list[str]
    words: Words
    places: dict[int, Place]
    past: tuple[core.Station, ...]
    open_sessions: frozenset[int]
    begun: frozenset[int]
    dark: Mapping[int, str]
    programme: Programme
    fixed_load: Mapping[tuple[int, int], int]
    favoured: Mapping[int, list[User]]

    def stations(self, programme: Programme) -> tuple[core.Station, ...]:
        """The past as it was run, and the programme's stations on the nights that are still open."""
        return self.past + tuple(
            core.Station(*self.places[state.slot], drill_id(state.drill), tuple(map(player_id, state.players)))
            for state in programme.of_sessions(self.open_sessions).stations
            if self.is_open(state.slot)
        )

    def is_open(self, slot: int) -> bool:
        """Whether a slot (key) can still be planned: its night is not past, and it has not begun."""
        session = self.places[slot][0] if slot in self.places else BEGUN
        return not session.endswith(BEGUN) and key_of(session) in self.open_sessions

    def beside(self, nights: Collection[int]) -> Programme:
        """What stands outside of these nights (keys), and what of them has begun."""
        stands = (s for s in self.programme.stations if s.session not in nights or s.slot in self.begun)
        return Programme(tuple(stands))

    @property
    def standing(self) -> tuple[core.Station, ...]:
        return self.stations(self.programme)

    def is_there(self, player: int, slot: int) -> bool:
        """Whether somebody (key) sees all of a slot (key)."""
        return slot in self.places and self.problem.is_there(player_id(player), *self.places[slot])

    @property
    def slots(self) -> dict[Place, int]:
        """(session id, slot number) -> key of the slot."""
        return {place: slot for slot, place in self.places.items()}


def problem_of(
    block: Block,
    *,
    today: dt.date,
    now: dt.datetime | None = None,
    locks: bool = True,
    keep_past: bool = True,
    as_it_stands: bool = False,
    days: Days | None = None,
) -> BuiltProblem:
    """The block as a planning problem, seen from `today` in the club's zone; without `now`, before anything has begun.

    `locks`: locked stations must run. `keep_past`: nights before today stay as they were; otherwise they
    are planned like the rest. `as_it_stands`: hold also the drills that stand in the programme although they
    are retired or no longer fit, so that the programme itself can be judged. `days`: where they were fetched already,
    by `days_to_plan`.
    """
    rows = rows_of(block, days)
    parts = Parts.of(rows, Nights.of(rows, today, now, keep_past=keep_past))
    rulings = parts.full_days.lowered(parts.attendance.rulings)
    ran = ran_stations(parts.record, parts.asked)
    problem = assemble(parts, rulings, ran, locks=locks, as_it_stands=as_it_stands)
    return BuiltProblem(
        problem=problem,
        reasons=reasons_of(parts, rulings),
        notes=list(notes_on(parts.rows, parts.nights, parts.attendance, parts.library, parts.rules, parts.asked)),
        words=words_for(problem, parts),
        places=parts.nights.places,
        past=tuple(ran),
        open_sessions=frozenset(night.pk for night in parts.nights.open),
        begun=frozenset(slot.pk for night in parts.nights.all if night.is_over for slot in night.slots.all()),
        dark={slot.pk: slot_name(night, slot) for night in parts.nights.open for slot in dark_in(night)},
        programme=programme_of(station for _night, _slot, station in parts.nights.stations(parts.nights.all)),
        fixed_load=parts.record.fixed_load,
        favoured=parts.asked.favoured,
    )


@dataclass(frozen=True)
class Parts:
    """What the rows of a block mean, subject by subject."""

    rows: Rows
    nights: Nights
    attendance: Attendance
    library: Library
    record: Record
    rules: list[ContactRules]
    lower: LowerWeeks
    asked: Asked

    @classmethod
    def of(cls, rows: Rows, nights: Nights) -> Parts:
        attendance = Attendance(rows, nights)
        rules = wishes.rules_in_force(rows, nights)
        return cls(
            rows,
            nights,
            attendance,
            Library.of(rows, nights),
            Record(rows, nights, attendance),
            rules,
            LowerWeeks(rows.patterns, rows.block.first_day, rows.block.weeks, wishes.limits(rules)),
            Asked(rows.wishes, rows, nights),
        )

    @cached_property
    def under_way(self) -> UnderWay:
        return UnderWay(self.nights, self.asked)

    @property
    def full_days(self) -> FullDays:
        return FullDays(
            self.nights,
            self.record.full_days(),
            self.lower.general.full_days_per_week,
            self.lower.fewer_days,
            self.record.standing_full_days(),
        )


Ran = dict[core.Station, core.Drill]


def assemble(parts: Parts, rulings: Rulings, ran: Ran, *, locks: bool, as_it_stands: bool) -> core.Problem:
    rows, nights, players = parts.rows, parts.nights, parts.attendance.players
    standing = standing_drills(nights, locked_only=not as_it_stands)
    offered = parts.library.core_drills(standing)
    drills = [parts.under_way.drill(parts.asked.drill(drill, rows.drills[key_of(drill.id)])) for drill in offered]
    return core.Problem(
        name=rows.block.name,
        start=rows.block.first_day,
        weeks=rows.block.weeks,
        skills=tuple(sorted(skill_names(rows))),
        players=tuple(players_of(players, parts)),
        drills=(*drills, *ran.values()),
        sessions=tuple(session_of(night, parts, ran) for night in nights.used),
        ceilings=ceilings_of(parts, rulings),
        limits=parts.lower.limits,
        targets=tuple(wishes.targets(rows, parts.attendance.coming)),
        bands=tuple(wishes.bands(rows, nights, parts.attendance, parts.record.fixed_load)),
        evenness=core.Evenness(groups_of(players), EVENNESS_WEIGHT),
        idle_weight=IDLE_WEIGHT,
        locks=(*map(lock_of, ran), *(locked_stations(nights) if locks else ())),
        misses=misses_of(parts),
        **parts.asked.keys({drill.id for drill in drills}, {player_id(player.pk) for player in players}),
    )


def ran_stations(record: Record, asked: Asked) -> Ran:
    """The stations of past nights at which somebody stood, each with a drill of its own.

    Where two stood together who are to be kept apart from now on, the station counts as several side by side.
    """
    ran = {}
    for night, slot, station in record.nights.stations(record.nights.past):
        drill, place = record.rows.drills[station.drill_id], record.nights.places[slot.pk]
        length, part = record.length(night, slot), 0
        for minutes, players in record.ran(night, slot, station):
            for here in parted(players, asked.pairs):
                key = ran_id(station.pk, part)
                done = drill_as_run(drill, key, len(here), length, minutes / length)
                ran[core.Station(*place, key, tuple(map(player_id, here)))] = done
                part += 1
    return ran


def lock_of(station: core.Station) -> core.Lock:
    return core.Lock(station.session, station.slot, station.drill, station.players)


def locked_stations(nights: Nights) -> Iterator[core.Lock]:
    for _night, slot, station in nights.stations(nights.open):
        if station.locked and slot.pk in nights.places:
            players = tuple(map(player_id, station.standing))
            yield core.Lock(*nights.places[slot.pk], drill_id(station.drill_id), players)


def standing_drills(nights: Nights, *, locked_only: bool) -> set[int]:
    return {
        station.drill_id for _night, _slot, station in nights.stations(nights.open) if station.locked or not locked_only
    }


def players_of(players: list[Player], parts: Parts) -> Iterator[core.Player]:
    accrued, done = parts.record.accrued(parts.lower.lowered), parts.record.done(parts.library.steps)
    for player in players:
        yield core.Player(
            id=player_id(player.pk),
            roles=tuple(sorted(player.roles)),
            done=tuple(done.get(player.pk, ())),
            accrued=accrued.get(player.pk, ()),
        )


def session_of(night: Session, parts: Parts, ran: Ran) -> core.Session:
    """A past night has no coach and no grass left, so that nothing can be added to it."""
    slots, past = parts.nights.slots(night), parts.nights.is_past(night)
    session = core.Session(
        id=id_of(night),
        date=night.day,
        slots=tuple(parts.record.length(night, slot) for slot in slots),
        stations=most_at_once(night, slots, ran) if past else night.stations,
        coaches=0 if past else night.coaches,
        area=0 if past else night.area,
        kit={} if past else kit_of(night, parts.rows.drills.values()),
    )
    session = parts.asked.session(session, night)
    return session if past else parts.under_way.session(session, night)


def most_at_once(night: Session, slots: list[Slot], ran: Ran) -> int:
    """Stations of the past night's fullest slot, those counted that stand for a part of one."""
    parts = sum(station.session == id_of(night) and "-" in station.drill for station in ran)
    return max(len(slot.stations.all()) for slot in slots) + parts


def ceilings_of(parts: Parts, rulings: Rulings) -> dict[str, dict[str, core.Ceiling]]:
    """Full is the format's default and is left out."""
    ceilings: dict[str, dict[str, core.Ceiling]] = {}
    for player, night, ruling in lowered(parts, rulings):
        ceilings.setdefault(player, {})[night] = core.Ceiling(ruling.level)
    return ceilings


def misses_of(parts: Parts) -> dict[str, dict[str, tuple[int, ...]]]:
    """What those who come late or leave early miss of the nights ahead; a past night stays as it ran."""
    misses: dict[str, dict[str, tuple[int, ...]]] = {}
    for player in parts.attendance.players:
        for night in parts.nights.open:
            missed = [slot.pk for slot in parts.attendance.missed(player.pk, night) if slot.pk in parts.nights.places]
            if missed:
                numbers = tuple(parts.nights.places[slot][1] for slot in missed)
                misses.setdefault(player_id(player.pk), {})[session_id(night.pk)] = numbers
    return misses


def reasons_of(parts: Parts, rulings: Rulings) -> dict[tuple[str, str], str]:
    return {(player, night): ruling.reason for player, night, ruling in lowered(parts, rulings)}


def lowered(parts: Parts, rulings: Rulings) -> Iterator[tuple[str, str, Ceiling]]:
    """(player, session, ruling) wherever something stands against full work."""
    for player in parts.attendance.players:
        for night in parts.nights.used:
            ruling = rulings[player.pk, night.pk]
            if ruling.level is not Level.FULL:
                yield player_id(player.pk), id_of(night), ruling


def groups_of(players: list[Player]) -> tuple[str, ...]:
    """Position groups in which contact can be evened out: those that at least two play in."""
    roles = Counter(role for player in players for role in player.roles)
    return tuple(group for group in GROUPS if roles[group] > 1)


def skill_names(rows: Rows) -> dict[str, str]:
    taught = {e.skill.code: str(e.skill) for drill in rows.drills.values() for e in drill.skill_shares.all()}
    return taught | {target.skill.code: str(target.skill) for target in rows.targets}


def words_for(problem: core.Problem, parts: Parts) -> SheetWords:
    rows, nights = parts.rows, parts.nights
    drill_of = {station.pk: rows.drills[station.drill_id] for _night, _slot, station in nights.stations(nights.past)}
    ran = {drill.id: str(drill_of[station_of_ran(drill.id)]) for drill in problem.drills if is_ran(drill.id)}
    ladders = {drill.ladder.code: drill.ladder.name for drill in rows.drills.values() if drill.ladder}
    groups = {group: name.lower() for group, name in rows.block.squad.club.names.groups.items()}
    return SheetWords(
        problem=problem,
        players={player_id(player.pk): str(player) for player in rows.players},
        drills={drill_id(key): str(drill) for key, drill in rows.drills.items()} | ran,
        sessions={id_of(night): session_name(night) for night in nights.used},
        lowered=parts.lower.lowered,
        others=ladders | groups | skill_names(rows) | parts.asked.words() | parts.under_way.words(),
        slots={nights.places[slot.pk]: slot_name(night, slot) for night in nights.used for slot in nights.slots(night)},
    )
