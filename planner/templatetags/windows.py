"""Figures against their limits in templates of pages and of paper."""

from __future__ import annotations

from django import template
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from planner import welfare_words as words
from planner.core.record import Source
from planner.core.windows import KINDS, Finding
from shared.charts import kind_mark, plumb_bar

SOURCE_WORDS = {
    Source.CONFIRMED: _("confirmed"),
    Source.NOT_CONFIRMED: _("not confirmed in 48 hours"),
    Source.PLANNED: _("planned"),
    Source.DECLARED: _("declared"),
}
NEVER = 2.0  # share of the limit: what cannot be neared is past it before
register = template.Library()
register.filter("measure_words", words.measure_words)
register.filter("figure_words", words.figure_words)
register.filter("excess_words", words.excess_words)
register.filter("unit_of", words.unit_of)


@register.filter
def measure_mark(measure: str) -> SafeString:
    """The hatch of a kind of contact; what is no contact has no mark."""
    kind = KINDS.get(measure)
    return kind_mark(kind) if kind else SafeString("")


@register.simple_tag
def finding_bar(finding: Finding) -> SafeString:
    """Against the plumb line, or with a notch at the least that is asked for."""
    title = f"{words.measure_words(finding.measure)}: {words.figure_words(finding)}"
    much, bound = float(finding.amount), finding.bound.amount if finding.bound else None
    if finding.measure.is_a_least:
        return plumb_bar(much, None, title, low=bound)
    near = finding.near_percent / 100 if finding.measure.is_neared else NEVER
    return plumb_bar(much, bound, title, near=near)


@register.filter
def source_words(source: Source) -> str:
    """Whether a figure is of the record or of the plan."""
    return SOURCE_WORDS[source]
