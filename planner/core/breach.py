"""A broken hard rule, as the referee tells it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

from planner.core.sheet import Run, Sheet
from planner.core.words import Words


@dataclass(frozen=True, slots=True)
class Breach:
    """A broken hard rule, where and by whom; what does not apply is None. `text` is one sentence."""

    rule: str
    text: str
    session: str | None = None
    slot: int | None = None
    drill: str | None = None
    player: str | None = None
    week: int | None = None


Rule: TypeAlias = Callable[[Sheet, Words], Iterator[Breach]]


def at(run: Run, rule: str, text: str, player: str | None = None) -> Breach:
    """The breach of a rule at a station."""
    return Breach(rule, text, run.station.session, run.station.slot, run.drill.id, player)
