"""One sentence on whether a proposed plan is better than what stands, so that nobody accepts a worse one unawares."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.core.words import listed
from planner.overview import FigureLine, Overview, compared, figure_lines

SAME = 0.05  # of the weighted cost: nobody would call it a difference


@dataclass(frozen=True, slots=True)
class Recommendation:
    """`is_better`: accepting is what the page puts first; otherwise keeping what stands is."""

    is_better: bool
    text: str


def recommendation(now: Overview, then: Overview) -> Recommendation:
    """`now` is what stands, `then` what accepting would leave; both of one problem, and `then` breaks no rule."""
    if now.programme == then.programme:
        return Recommendation(False, _("This plan is what stands already."))
    parts = _parts(now, then)
    if broken := len(now.breaches):
        lead = ngettext(
            "What stands does not fit in %(count)d place; this plan fits. Otherwise it is %(parts)s.",
            "What stands does not fit in %(count)d places; this plan fits. Otherwise it is %(parts)s.",
            broken,
        )
        return Recommendation(True, lead % {"count": broken, "parts": parts})
    change = then.figures.cost - now.figures.cost
    if abs(change) < SAME:
        return Recommendation(False, _("This plan is neither better nor worse than what stands: %s.") % parts)
    if change < 0:
        return Recommendation(True, _("This plan is better than what stands, all parts weighed together: %s.") % parts)
    return Recommendation(False, _("This plan is worse than what stands, all parts weighed together: %s.") % parts)


def _parts(now: Overview, then: Overview) -> str:
    lines = figure_lines(now.figures.to_json(), then.figures.to_json())
    sides = (compared(1, 0), _("better in %s")), (compared(0, 1), _("worse in %s"))
    told = [text % listed(found) for standing, text in sides if (found := _changed(lines, standing))]
    return "; ".join(told) or _("the same in every part")


def _changed(lines: list[FigureLine], standing: str) -> list[str]:
    return [
        f"{line.label[:1].lower()}{line.label[1:]} ({line.value} → {line.other})"
        for line in lines
        if line.standing == standing
    ]
