"""How large a card is set, how much of it, and how large it is drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from drills.core.reckoning import Fit, Reckoning

TENTHS = 10  # type is tried by tenths of a pt
SCALES = (1.0, 0.93, 0.86)  # of a drawing: it gives way before comfortable type does, within limits
SCALES_IN_ROWS = (*SCALES, 0.78, 0.7, 0.6)  # of several
BESIDE = ((True, True), (False, True), (True, False), (False, False))  # facts and steps beside a drawing, or not


class TooLong(ValueError):
    """No legible type sets these words on this paper."""


def fitted(card: Reckoning, less: float = 0.0) -> Fit:
    """The largest type that the card fits, with as many extras as comfortable type allows.

    `less` pt of the height are not to be used. Raises TooLong.
    """
    on, every = card.on, len(card.extras)

    def fits(fit: Fit) -> bool:
        return card.runs_over(fit) <= -less

    least = 0 if on.larger else every
    fit = replace(arranged(card, Fit(on.comfort, min(on.wanted, every)), fits), count=least)
    if fits(fit):
        fit = replace(fit, count=_most(least, every, lambda count: fits(replace(fit, count=count))))
        low, high = on.comfort, on.largest
    else:
        low, high = on.least, on.comfort
    tenths = _most(round(low * TENTHS), round(high * TENTHS), lambda tenths: fits(replace(fit, size=tenths / TENTHS)))
    fit = replace(fit, size=tenths / TENTHS)
    if not fits(fit):
        raise TooLong
    return fit


def arranged(card: Reckoning, fit: Fit, fits: Callable[[Fit], bool]) -> Fit:
    """The lowest arrangement around the largest drawing that leaves room for comfortable type."""
    if not card.frames:
        return fit
    alone = len(card.frames) == 1
    beside = BESIDE if alone else BESIDE[:1]
    for scale in SCALES if alone else SCALES_IN_ROWS:
        ways = [replace(fit, scale=scale, facts_beside=facts, steps_beside=steps) for facts, steps in beside]
        best = min(ways, key=card.runs_over)
        if fits(best):
            break
    return best


def _most(low: int, high: int, passes: Callable[[int], bool]) -> int:
    """The largest number that passes, found by halving; the lowest if none does."""
    while low < high:
        middle = -(-(low + high) // 2)
        low, high = (middle, high) if passes(middle) else (low, middle - 1)
    return low
