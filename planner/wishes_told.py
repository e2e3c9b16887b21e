"""A coach's wishes in his own words, and which of them the programme leaves open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planner.build import BuiltProblem
from planner.building.wishes_asked import is_rest
from planner.core import problem as core
from planner.core.words import listed
from planner.overview import Overview
from planner.wish_models import Apart, DrillWish, Favourite, Keep
from shared.core.positions import BACKS, FORWARDS, Names

HALVES = {FORWARDS: gettext_lazy("forwards"), BACKS: gettext_lazy("backs")}


def unit_name(unit: str, names: Names) -> str:
    return str(HALVES.get(unit) or names.of(unit).lower())


def told(wish: DrillWish | Apart | Favourite, names: Names) -> str:
    """One sentence, with what the club calls its position groups."""
    if isinstance(wish, Apart):
        return told_apart(wish)
    if isinstance(wish, Favourite):
        return told_favourite(wish)
    return f"{wish.drill}: {'; '.join(clauses(wish, names))}."


def told_apart(wish: Apart) -> str:
    pair = {"first": wish.first, "second": wish.second}
    if wish.contact_only:
        return _("%(first)s and %(second)s never share a station with contact.") % pair
    return _("%(first)s and %(second)s never share a station.") % pair


def told_favourite(wish: Favourite) -> str:
    return _("%(coach)s would like to run %(drills)s on each night (matters %(much)s).") % {
        "coach": wish,
        "drills": listed(map(str, wish.drills.all()), _("or")),
        "much": wish.get_matters_display(),
    }


def clauses(wish: DrillWish, names: Names) -> Iterator[str]:
    """What is wished of one drill, a clause each."""
    if wish.fresh:
        yield _("before anything that tires")
    if wish.runs_least:
        text = ngettext(
            "at least %(n)d time (matters %(much)s)", "at least %(n)d times (matters %(much)s)", wish.runs_least
        )
        yield text % {"n": wish.runs_least, "much": wish.get_matters_display()}
    if wish.runs_most is not None:
        yield ngettext("at most %(n)d time", "at most %(n)d times", wish.runs_most) % {"n": wish.runs_most}
    if wish.gap_days:
        text = ngettext(
            "%(n)d day at least between two nights", "%(n)d days at least between two nights", wish.gap_days
        )
        yield text % {"n": wish.gap_days}
    if wish.keep:
        yield units_clause(wish, names)


def units_clause(wish: DrillWish, names: Names) -> str:
    units = listed((unit_name(unit, names) for unit in wish.units), _("and"))
    if wish.keep == Keep.TOGETHER:
        return _("%(units)s each at a station of their own") % {"units": units}
    return _("at least %(n)d each of %(units)s at its station") % {"n": wish.unit_least, "units": units}


WISH_RULES = {f"H{number}" for number in range(11, 18)}


def broken(overview: Overview) -> list[str]:
    """The stations that stand against a wish that is always kept, a sentence each."""
    others = overview.built.words.others
    rests = [words for thing, words in others.items() if is_rest(thing)]
    return [
        breach.text
        for breach in overview.breaches
        if breach.rule in WISH_RULES or any(words in breach.text for words in rests)
    ]


def unmet(built: BuiltProblem, stations: Iterable[core.Station]) -> list[str]:
    """The wishes that may stay open and do: drills that run too seldom, nights without a coach's favourite."""
    stations = list(stations)
    return [*_missing_runs(built, stations), *_missing_favourites(built, stations)]


def _missing_runs(built: BuiltProblem, stations: list[core.Station]) -> Iterator[str]:
    for drill in built.problem.drills:
        times = sum(station.drill == drill.id for station in stations)
        if drill.repeats.weight and times < drill.repeats.least:
            yield ngettext(
                "%(drill)s runs %(times)d of %(least)d time still wished for",
                "%(drill)s runs %(times)d of %(least)d times still wished for",
                drill.repeats.least,
            ) % {"drill": built.words.drill(drill.id), "times": times, "least": drill.repeats.least}


def _missing_favourites(built: BuiltProblem, stations: list[core.Station]) -> Iterator[str]:
    run_in = {(station.session, station.drill) for station in stations}
    for wish in built.problem.favourites:
        missed = [night for night in wish.sessions if not any((night, drill) in run_in for drill in wish.drills)]
        if missed:
            nights = listed(map(built.words.session, missed), _("and"))
            yield _("no favourite of %(coach)s on %(nights)s") % {"coach": wish.coach, "nights": nights}
