"""Contact against its limits, and the players of a week, in templates of pages and of paper."""

from __future__ import annotations

from django import template

from planner import totals_drawn, week_drawn

register = template.Library()
register.filter("room_word", totals_drawn.room_word)
register.filter("figure_cell", totals_drawn.figure_cell)
register.filter("need_rows", week_drawn.need_rows)
register.filter("station_names", week_drawn.station_names)
