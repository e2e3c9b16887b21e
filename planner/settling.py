"""From a run's plan to the programme that it would make now: what still fits, letters, coaches."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drills.models import Drill
from planner.build import BuiltProblem, is_ran, key_of, session_id
from planner.building.nights import BEGUN
from planner.coach_names import is_named
from planner.core import problem as core
from planner.core.check import breaches
from planner.models import PlanRun, Session
from planner.programme import Programme, Spot, StationState
from shared.models import User


@dataclass(frozen=True)
class Proposal:
    """What accepting a run would make of the programme.

    `left_out`: nights and players that have gone since. `misfits`: why the rest cannot be accepted; then
    the programme is the one that stands.
    """

    programme: Programme
    left_out: list[str]
    misfits: list[str]


def proposal(run: PlanRun, built: BuiltProblem) -> Proposal:
    """The run's plan, judged by the independent referee against the problem as it is now.

    Dealt again, it concerns only the nights that it changed, and these must be as they were then.
    """
    built, planned = with_locks_that_hold(run, built), stations_of(run.plan["stations"])
    if run.is_redeal:
        return redeal_proposal(run, planned, built)
    asked = {row["id"]: row for row in run.problem["sessions"]}
    open_now = {session_id(key) for key in built.open_sessions}
    common = asked.keys() & open_now
    here, away = split_by_attendance([station for station in planned if station.session in common], built)
    left_out = [*missed_nights(planned, asked, open_now), *away]
    misfits = [*changed_slots(common, asked, built), *lost_drills(here, built)]
    if not common:
        misfits = [_("No night that it planned is open any more.")]
    return joined(common, here, left_out, misfits, built, {(slot, drill) for slot, drill in run.kept})


def with_locks_that_hold(run: PlanRun, built: BuiltProblem) -> BuiltProblem:
    """Nobody is locked to a night that he cannot come to, nor a station that the person wanted taken out."""
    problem, swapped = built.problem, run.asked.get("swapped")

    def left(lock: core.Lock) -> core.Lock:
        return replace(lock, players=tuple(p for p in lock.players if problem.is_there(p, lock.session, lock.slot)))

    locks = (lock for lock in problem.locks if [lock.session, lock.slot, lock.drill] != swapped)
    return replace(built, problem=replace(problem, locks=tuple(map(left, locks))))


def redeal_proposal(run: PlanRun, planned: list[core.Station], built: BuiltProblem) -> Proposal:
    was, now = ({_as_placed(station) for station in each} for each in (stations_of(run.start), planned))
    dark = {session_id(state.session) for state in built.programme.stations if state.slot in built.dark}
    changed = dark | {session for session, *_rest in was ^ now}
    here = [station for station in planned if station.session in changed]
    asked = {row["id"]: row for row in run.problem["sessions"]}
    misfits = changed_nights(changed, run.versions, built) or changed_slots(changed, asked, built)
    misfits += lost_drills(here, built)
    return joined(changed, here, [], misfits, built, ())


def _as_placed(station: core.Station) -> tuple[str, int, str, frozenset[str]]:
    """In whatever order its players stand."""
    return station.session, station.slot, station.drill, frozenset(station.players)


def joined(
    nights: Iterable[str],
    stations: list[core.Station],
    left_out: list[str],
    misfits: list[str],
    built: BuiltProblem,
    kept: Collection[Spot],
) -> Proposal:
    """The stations on their nights beside what stands on the others, unless a rule is broken."""
    if not misfits:
        others = built.beside({key_of(session) for session in nights})
        misfits = [b.text for b in breaches(built.problem, (*built.stations(others), *stations), built.words)]
    if misfits:
        return Proposal(built.programme, left_out, misfits)
    made = settled(stations, replace(built, programme=with_coaches_there(built.programme)))
    locked = (replace(state, locked=state.locked or state.spot in kept) for state in made.stations)
    return Proposal(others.joined_to(Programme(tuple(locked))), left_out, misfits)


def with_coaches_there(programme: Programme) -> Programme:
    """A station's coaches are those whom its night still names; where it names nobody, all of them."""
    names = dict(
        Session.objects.filter(pk__in={s.session for s in programme.stations}).values_list("pk", "coach_names")
    )

    def there(state: StationState) -> StationState:
        named = names.get(state.session)
        here = [each for each in state.coach.split(", ") if each in named] if named else [state.coach]
        return replace(state, coach=", ".join(here))

    return Programme(tuple(map(there, programme.stations)))


def stations_of(rows: Iterable[Mapping[str, Any]]) -> list[core.Station]:
    """As a run keeps them."""
    return [core.Station(**{**row, "players": tuple(row["players"])}) for row in rows]


def changed_nights(nights: Iterable[str], versions: Mapping[str, int], built: BuiltProblem) -> list[str]:
    """Nights that somebody has changed since, or that are over or gone."""
    now = {session_id(key): version for key, version in versions_now(map(key_of, nights)).items()}
    open_now = {session_id(key) for key in built.open_sessions}
    return [
        _("%(night)s has been changed since this was dealt.") % {"night": built.words.gone_session(night)}
        for night in sorted(nights)
        if night not in open_now or now.get(night) != versions.get(night)
    ]


def versions_now(nights: Iterable[int]) -> dict[int, int]:
    return dict(Session.objects.filter(pk__in=list(nights)).values_list("pk", "plan_version"))


def split_by_attendance(stations: Iterable[core.Station], built: BuiltProblem) -> tuple[list[core.Station], list[str]]:
    """The stations without players who are away by now, or miss the slot, and who these are."""
    problem, kept, away = built.problem, [], defaultdict(list)
    for station in stations:
        here = []
        for player in station.players:
            if player in problem.player_ids and problem.is_there(player, station.session, station.slot):
                here.append(player)
            else:
                away[player, station.session].append(station)
        kept.append(core.Station(station.session, station.slot, station.drill, tuple(here)))
    return kept, [
        taken_off(problem.attends(player, session), len(missed))
        % {
            "player": built.words.players.get(player, _("A player who has left the squad")),
            "night": built.words.session(session),
            "count": len(missed),
        }
        for (player, session), missed in away.items()
    ]


def taken_off(comes: bool, count: int) -> str:
    if comes:
        return ngettext(
            "%(player)s is not there for all of %(night)s: taken off %(count)d station.",
            "%(player)s is not there for all of %(night)s: taken off %(count)d stations.",
            count,
        )
    return ngettext(
        "%(player)s cannot come on %(night)s any more: taken off %(count)d station.",
        "%(player)s cannot come on %(night)s any more: taken off %(count)d stations.",
        count,
    )


def missed_nights(planned: Iterable[core.Station], asked: Mapping[str, Any], open_now: set[str]) -> list[str]:
    """Nights that had a plan of their own and take place no more, or are over."""
    lost = dict.fromkeys(s.session for s in planned if s.session not in open_now and not is_ran(s.drill))
    if not lost:
        return []
    days = (date_format(dt.date.fromisoformat(asked[session]["date"]), "D j M") for session in lost)
    return [
        _("Past, moved out of the block or called off by now, and so left out: %(nights)s.")
        % {"nights": ", ".join(days)}
    ]


def changed_slots(sessions: Iterable[str], asked: Mapping[str, Any], built: BuiltProblem) -> list[str]:
    """Slots that are others now, or of which one has begun since."""
    parted = {session for session, _number in built.places.values()}
    return [
        (
            _("A slot of %(night)s has begun since: deal again what is left of it.")
            if session + BEGUN in parted
            else _("The slots of %(night)s are no longer those that the run planned.")
        )
        % {"night": built.words.session(session)}
        for session in sorted(sessions)
        if list(built.problem.session(session).slots) != list(asked[session]["slots"])
    ]


def lost_drills(stations: Iterable[core.Station], built: BuiltProblem) -> list[str]:
    known = {drill.id for drill in built.problem.drills}
    lost = dict.fromkeys(station.drill for station in stations if station.drill not in known)
    return [_("%(drill)s can no longer be planned.") % {"drill": built.words.drill(drill)} for drill in lost]


def settled(planned: list[core.Station], built: BuiltProblem) -> Programme:
    """The stations lettered by the numbers of their cards, each with a coach by name."""
    slots, by_slot = built.slots, defaultdict(list)
    for station in planned:
        by_slot[slots[station.session, station.slot]].append(station)
    nights = Session.objects.in_bulk({key_of(station.session) for station in planned})
    drills = Drill.objects.in_bulk({key_of(station.drill) for station in planned})
    return Programme(
        tuple(
            state
            for slot, stations in by_slot.items()
            for state in in_letters(slot, stations, nights[key_of(stations[0].session)], drills, built)
        )
    )


def in_letters(
    slot: int,
    stations: Iterable[core.Station],
    night: Session,
    drills: Mapping[int, Drill],
    built: BuiltProblem,
) -> Iterable[StationState]:
    """The stations of one slot. Who coaches a station that stays keeps it; the others share out the rest."""
    stations = sorted(stations, key=lambda station: drills[key_of(station.drill)].number)
    here = [drills[key_of(station.drill)] for station in stations]
    standing = {drill.pk: was for drill in here if (was := built.programme.by_spot.get((slot, drill.pk)))}
    coaches = {key: was.coach for key, was in standing.items() if was.coach}
    free = [name for name in night.coach_names if name not in coaches.values()]
    coaches |= shared_out([drill for drill in here if drill.pk not in coaches], free, built.favoured)
    for order, (station, drill) in enumerate(zip(stations, here, strict=True)):
        was = standing.get(drill.pk)
        yield StationState(
            session=night.pk,
            slot=slot,
            order=order,
            drill=drill.pk,
            version=drill.version,
            coach=coaches[drill.pk][:80],
            locked=bool(was and was.locked),
            players=tuple(sorted(map(key_of, station.players))),
        )


def shared_out(drills: list[Drill], names: list[str], favoured: Mapping[int, Iterable[User]]) -> dict[int, str]:
    """The names beside each drill (by key): first those whose favourite it is, then the others in their order."""
    free, found = list(names), {drill.pk: [] for drill in drills}
    for wants_all in (False, True):
        for drill in drills:
            fans = favoured.get(drill.pk, ())
            fitting = [name for name in free if wants_all or any(is_named(fan, name) for fan in fans)]
            chosen = fitting[: max(1, drill.coaches) - len(found[drill.pk])]
            found[drill.pk] += chosen
            free = [name for name in free if name not in chosen]
    return {drill: ", ".join(chosen) for drill, chosen in found.items()}
