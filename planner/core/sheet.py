"""A plan laid out for reading: each station with its drill and day, and where each player stands."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from planner.core.problem import Drill, Problem, Session, Station

TOLERANCE = 1e-6  # all comparisons of minutes with decimals allow this much


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """One station with what its ids stand for. Two runs of the same words are still two runs."""

    station: Station
    drill: Drill
    session: Session
    week: int
    minutes: int

    @property
    def contact_minutes(self) -> float:
        return self.drill.contact_minutes(self.minutes)

    @property
    def load(self) -> int:
        """AU: RPE x minutes."""
        return self.drill.rpe * self.minutes


@dataclass(frozen=True, slots=True)
class Sheet:
    """`of_player` holds a run as often as the player is listed at it, in the order of the plan."""

    problem: Problem
    runs: tuple[Run, ...]
    of_player: dict[str, list[Run]]

    @classmethod
    def of(cls, problem: Problem, stations: Iterable[Station]) -> Sheet:
        runs = tuple(_run(problem, station) for station in stations)
        of_player: dict[str, list[Run]] = defaultdict(list)
        for run in runs:
            for player in run.station.players:
                of_player[player].append(run)
        return cls(problem, runs, dict(of_player))

    def by_slot(self) -> dict[tuple[str, int], list[Run]]:
        """The runs of each slot that holds any."""
        found: dict[tuple[str, int], list[Run]] = defaultdict(list)
        for run in self.runs:
            found[run.station.session, run.station.slot].append(run)
        return dict(found)

    def once_each(self, player: str) -> Sequence[Run]:
        """The player's runs, without counting a run twice at which he is listed twice."""
        return list(dict.fromkeys(self.of_player.get(player, ())))


def _run(problem: Problem, station: Station) -> Run:
    return Run(
        station,
        problem.drill(station.drill),
        problem.session(station.session),
        problem.week_of(station.session),
        problem.minutes(station),
    )
