"""A player's ledger in templates of pages and of paper."""

from __future__ import annotations

from django import template

from planner import ledger_drawn as drawn
from planner import ledger_words as words

register = template.Library()
register.filter("load_of_day", words.load_of_day)
register.filter("monotony", words.monotony)
register.filter("strain", words.strain)
register.filter("coupled", words.coupled)
register.filter("uncoupled", words.uncoupled)
register.filter("weighted_ratio", words.weighted_ratio)
register.filter("lacks_words", words.lacks)
register.filter("done_words", words.done)
register.filter("day_words", words.day_words)
register.filter("week_words", words.week)
register.filter("load_chart", words.chart)
register.filter("chart_words", words.chart_words)
register.filter("minutes_words", words.minutes_words)
register.filter("open_words", words.open_words)
register.filter("unconfirmed_words", words.unconfirmed_words)
register.filter("since_words", words.since)
register.filter("skill_rows", drawn.skill_rows)
register.filter("day_rows", drawn.day_rows)
register.filter("week_rows", drawn.week_rows)
register.filter("ratio_rows", drawn.ratio_rows)
register.filter("squad_rows", drawn.squad_rows)
register.filter("monotony_words", drawn.monotony_words)
register.filter("strain_words", drawn.strain_words)
