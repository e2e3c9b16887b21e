"""What of a standing programme the rules and rows of today no longer allow, before anything is dealt again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.build import BuiltProblem, drill_id
from planner.core.check import breaches


def to_mend(built: BuiltProblem) -> list[str]:
    """Sentences; `built` is the problem for planning, so that drills that are not on offer show."""
    known = {drill.id for drill in built.problem.drills}
    kept = [station for station in built.standing if station.drill in known]
    return [
        *in_the_dark(built),
        *_lost(built, known),
        *(breach.text for breach in breaches(built.problem, kept, built.words)),
    ]


def in_the_dark(built: BuiltProblem) -> list[str]:
    """Stations that the lights do not last for; nothing is dealt there any more."""
    return [
        _("%(slot)s: the lights go off before %(drill)s ends.")
        % {"slot": built.dark[state.slot], "drill": built.words.drill(drill_id(state.drill))}
        for state in built.programme.stations
        if state.slot in built.dark
    ]


def _lost(built: BuiltProblem, known: set[str]) -> Iterator[str]:
    lost = Counter(station.drill for station in built.standing if station.drill not in known)
    for drill, times in lost.items():
        text = ngettext(
            "%(drill)s stands in %(count)d slot and is not to be used any more.",
            "%(drill)s stands in %(count)d slots and is not to be used any more.",
            times,
        )
        yield text % {"drill": built.words.drill(drill), "count": times}
