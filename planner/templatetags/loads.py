"""A player's ledger in templates of pages and of paper."""

from __future__ import annotations

from django import template

from planner import ledger_drawn as drawn
from planner import ledger_words as words

register = template.Library()
register.filter("load", words.load)
register.filter("ratio", words.ratio)
register.filter("weighted", words.weighted)
register.filter("lacks_words", words.lacks)
register.filter("done_words", words.done)
register.filter("day_words", words.day_words)
register.filter("week_words", words.week)
register.filter("load_chart", words.chart)
register.filter("chart_words", words.chart_words)
register.filter("minutes_words", words.minutes_words)
register.filter("since_words", words.since)
register.filter("skill_rows", drawn.skill_rows)
register.filter("day_rows", drawn.day_rows)
register.filter("week_rows", drawn.week_rows)
register.filter("ratio_rows", drawn.ratio_rows)
register.filter("squad_rows", drawn.squad_rows)
register.filter("monotony_words", drawn.monotony_words)
register.filter("strain_words", drawn.strain_words)
