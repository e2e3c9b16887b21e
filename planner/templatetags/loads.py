"""A player's ledger in templates of pages and of paper."""

from __future__ import annotations

from django import template
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from planner import ledger_words as words
from planner.ledger_skills import SkillLine
from planner.squad_ledger import LOOKED_BACK, SquadLine, WeekLoad
from shared.charts import plumb_bar

register = template.Library()
register.filter("load", words.load)
register.filter("ratio", words.ratio)
register.filter("weighted", words.weighted)
register.filter("deviation_words", words.deviation)
register.filter("lacks_words", words.lacks)
register.filter("done_words", words.done)
register.filter("week_words", words.week)
register.filter("load_chart", words.chart)
register.filter("chart_words", words.chart_words)
register.filter("skill_bar", words.skill_bar)
register.filter("minutes_words", words.minutes_words)
register.filter("since_words", words.since)


@register.filter
def covered_bar(line: SquadLine) -> SafeString:
    """Minutes of a squad's line with a notch at their target."""
    if not line.target:
        return SafeString("")
    return plumb_bar(line.covered, None, words.against(line.covered, line.target), low=line.target)


@register.filter
def covered_words(line: SquadLine) -> str:
    return words.against(line.covered, line.target)


@register.filter
def week_load_words(load: WeekLoad | None) -> str:
    return words.week_load(load.load, load.known, load.open_days) if load else _("nothing is told")


@register.filter
def left_alone_words(line: SkillLine) -> str:
    return f"{line.name}, {words.since(line, LOOKED_BACK)}"
