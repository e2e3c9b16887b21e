"""Figures of the welfare officer's page in words, alike on a page, on paper and in a list to choose from."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.core.windows import Finding, Measure
from planner.welfare_actions import Beyond
from planner.welfare_models import MEASURES

MINUTES = {Measure.FULL, Measure.CONTROLLED, Measure.SET_PIECE, Measure.MATCH_MINUTES, Measure.TWO_DAY_MINUTES}


def measure_words(measure: str) -> str:
    return str(MEASURES[Measure(measure)])


def unit_of(measure: str, amount: float) -> str:
    """min, h, day or days, match or matches, after that many."""
    if measure in MINUTES:
        return _("min")
    if measure == Measure.MATCH_HOURS:
        return _("h")
    many = 1 if amount == 1 else 2
    return ngettext("match", "matches", many) if measure == Measure.SEASON_MATCHES else ngettext("day", "days", many)


def figure_words(finding: Finding) -> str:
    """17.2 of 15 min; 71 h, at least 72."""
    counted = finding.shown if finding.bound is None or finding.measure.is_a_least else finding.bound.amount
    unit = unit_of(finding.measure, counted)
    if finding.bound is None:
        return f"{shown(finding.shown)} {unit}"
    words = (
        _("%(much)s %(unit)s, at least %(limit)s")
        if finding.measure.is_a_least
        else _("%(much)s of %(limit)s %(unit)s")
    )
    return words % {"much": shown(finding.shown), "limit": finding.bound.amount, "unit": unit}


def excess_words(finding: Finding) -> str:
    words = _("short by %(much)s %(unit)s") if finding.measure.is_a_least else _("past by %(much)s %(unit)s")
    return words % {"much": shown(finding.excess_shown), "unit": unit_of(finding.measure, finding.excess_shown)}


def shown(amount: float) -> str:
    """To a tenth, without a bare .0."""
    return f"{amount:.1f}".removesuffix(".0")


def beyond_words(beyond: Beyond) -> str:
    finding = beyond.finding
    told = (measure_words(finding.measure), figure_words(finding), excess_words(finding))
    return f"{beyond.player.sheet_name}: {', '.join(told)}"
