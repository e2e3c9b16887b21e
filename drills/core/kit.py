"""Pieces of kit that a drill takes. A line of kit is so many pieces for each so many players, or in all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

Line = Mapping[str, Any]  # item, count, per (None: in all), as a drill pack holds it


def pieces(kit: Iterable[Line], players: int) -> dict[str, int]:
    """Pieces of each kind with that many players."""
    counts: dict[str, int] = {}
    for line in kit:
        shares = -(-players // line["per"]) if line["per"] else 1
        counts[line["item"]] = counts.get(line["item"], 0) + line["count"] * shares
    return counts


def lacks(kit: Iterable[Line], players: int, store: Mapping[str, int]) -> bool:
    """Whether the store has too few pieces of some kind; of a kind that it does not count there are enough."""
    return any(count > store.get(item, count) for item, count in pieces(kit, players).items())
