"""Walking a ladder: from a card to those on the step below and above."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drills.models import Drill
from shared.models import Club


@dataclass(frozen=True, slots=True)
class Neighbours:
    """The cards on the next lower and the next higher step that has any; a ladder may leave steps out."""

    lower: tuple[Drill, ...] = ()
    higher: tuple[Drill, ...] = ()


class Steps:
    """The current cards of every ladder of a club, by one query."""

    def __init__(self, drills: Iterable[Drill]) -> None:
        self._steps: dict[int, dict[int, list[Drill]]] = {}
        for drill in drills:
            self._steps.setdefault(drill.ladder_id, {}).setdefault(drill.step, []).append(drill)

    @classmethod
    def of(cls, club: Club) -> Steps:
        on_ladders = Drill.objects.of(club).current().filter(ladder__isnull=False)
        return cls(on_ladders.only("number", "name", "ladder_id", "step", "rung"))

    def beside(self, drill: Drill) -> Neighbours:
        steps = self._steps.get(drill.ladder_id)
        if drill.ladder_id is None or steps is None:
            return Neighbours()
        lower = max((step for step in steps if step < drill.step), default=None)
        higher = min((step for step in steps if step > drill.step), default=None)
        return Neighbours(tuple(steps.get(lower, ())), tuple(steps.get(higher, ())))


@dataclass(frozen=True, slots=True)
class Step:
    """The cards that stand on one step."""

    step: int
    drills: tuple[Drill, ...]
    is_top: bool


def climb(drills: Iterable[Drill]) -> list[Step]:
    """The cards of one ladder from its lowest step to its highest."""
    by_step: dict[int, list[Drill]] = {}
    for drill in drills:
        by_step.setdefault(drill.step, []).append(drill)
    top = max(by_step, default=None)
    return [Step(step, tuple(found), step == top) for step, found in sorted(by_step.items())]
