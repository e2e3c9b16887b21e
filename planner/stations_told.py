"""Why a drill stands where it does, in sentences and beside what could stand there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.build import BuiltProblem, drill_id, is_ran, key_of
from planner.core import problem as core
from planner.core.compare import Standing
from planner.core.explain import Explanation, StationWhy, Trained
from planner.core.words import Words, listed
from planner.explanations import SHOWN_NAMES, UNSEEN, minutes
from planner.overview import FigureLine, figure_lines


@dataclass(frozen=True, slots=True)
class StationLine:
    """One station of a slot: where, what, why; `slot` and `drill` are keys of its rows."""

    place: str
    drill_name: str
    text: str
    slot: int
    drill: int


def station_lines(explanation: Explanation, built: BuiltProblem) -> list[StationLine]:
    """Every station of the nights that are still open, in the order of time."""
    order = list(built.slots)
    shown = (station for station in explanation.stations if not is_ran(station.drill))
    return [
        StationLine(
            built.words.slot(station.session, station.slot),
            built.words.drill(station.drill),
            " ".join(station_sentences(explanation.why(station), built.words)),
            built.slots[station.session, station.slot],
            key_of(station.drill),
        )
        for station in sorted(shown, key=lambda station: order.index((station.session, station.slot)))
    ]


def station_sentences(why: StationWhy, words: Words) -> Iterable[str]:
    if why.is_locked:
        yield _("It is locked.")
    if why.trained:
        parts = (_trained(each, words) for each in why.trained[:SHOWN_NAMES])
        yield _("It eases %(parts)s.") % {"parts": listed(parts, _("and"))}
    else:
        yield _("No wish would be shorter without it: it keeps players busy and their load in the band.")
    if why.carries:
        yield ngettext(
            "A later rung of %(count)d player rests on it.", "Later rungs of %(count)d players rest on it.", why.carries
        ) % {"count": why.carries}
    yield _worth(why.without)
    yield _runner_up(why, words)


def _trained(each: Trained, words: Words) -> str:
    text = ngettext(
        "%(skill)s by %(minutes)s min for %(n)d player", "%(skill)s by %(minutes)s min for %(n)d players", each.players
    )
    return text % {"skill": words.other(each.skill), "minutes": minutes(each.minutes), "n": each.players}


def _worth(without: float) -> str:
    if without < -UNSEEN:
        return _("Without it the plan would be better by %(worth)s.") % {"worth": minutes(-without)}
    return _("Without it the plan would be worse by %(worth)s.") % {"worth": minutes(without)}


def _runner_up(why: StationWhy, words: Words) -> str:
    if why.runner_up is None:
        return _("No other drill could run there with these players.")
    told = {"drill": words.drill(why.runner_up.drill), "against": minutes(abs(why.against))}
    if why.against < -UNSEEN:
        return _("%(drill)s in its place would be better by %(against)s.") % told
    if why.against < UNSEEN:
        return _("%(drill)s in its place would do as well.") % told
    return _("The next best for these players, %(drill)s, would be worse by %(against)s.") % told


def station_of(explanation: Explanation, built: BuiltProblem, slot: int, drill: int) -> core.Station | None:
    """The station by the keys of its rows."""
    place = built.places.get(slot)
    return next((s for s in explanation.stations if (s.session, s.slot) == place and s.drill == drill_id(drill)), None)


def against_others(explanation: Explanation, why: StationWhy) -> list[tuple[str, list[FigureLine]]]:
    """The parts of what is left open in the plan as it is, without the station, and with the runner-up in its place."""
    problem, stations = explanation.problem, explanation.stations
    without = tuple(station for station in stations if station is not why.station)
    columns = [(_("without it"), without)]
    if why.runner_up is not None:
        columns.append((_("with the next best"), why.runner_up.applied(stations)))
    now = Standing.of(problem, stations).figures.to_json()
    return [(label, figure_lines(now, Standing.of(problem, plan).figures.to_json())) for label, plan in columns]
