"""The rows of a ledger's tables, drawn in Python: a season has hundreds of cells, and a template looks up each anew.

All text passes `html.escape`; a test types HTML into every name.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from functools import lru_cache
from html import escape

from django.urls import reverse
from django.utils.formats import date_format
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from planner import ledger_words as words
from planner.core.load import Deviation
from planner.ledger_loads import LoadDay, PlayerLoads, ShownWeek
from planner.ledger_skills import SkillLine
from planner.squad_ledger import LOOKED_BACK, SquadLedger, SquadLine, WeekLoad
from shared.charts import plumb_bar


def on(day: dt.date, form: str = "j M Y") -> str:
    return _on(day, form, get_language())


@lru_cache(maxsize=4096)
def _on(day: dt.date, form: str, _language: str | None) -> str:
    return escape(date_format(day, form))


def row(head: str, cells: Iterable[tuple[str, str]], kind: str = "") -> str:
    """`cells`: label and content, the content drawn already."""
    drawn = "".join(f'<td{kind} data-label="{escape(label)}">{content}</td>' for label, content in cells)
    return f'<tr><th scope="row">{head}</th>{drawn}</tr>'


def rows(drawn: Iterable[str]) -> SafeString:
    return mark_safe("".join(drawn))


def soft(text: str) -> str:
    return f' <span class="soft">{text}</span>'


def bar(words_of_it: str, minutes: float, target: float) -> str:
    """With a notch at what is wanted; without a target there is nothing to draw it against."""
    return plumb_bar(minutes, None, words_of_it, low=target) if target else ""


def skill_rows(lines: Iterable[SkillLine]) -> SafeString:
    labels = _("Minutes"), _("Last trained")
    return rows(row(escape(line.name), zip(labels, skill_cells(line), strict=True)) for line in lines)


def skill_cells(line: SkillLine) -> Iterator[str]:
    told, figure, still_open = words.minutes_words(line), line.figure, words.open_words(line)
    drawn = bar(f"{line.name}: {told}", figure.minutes, figure.target)
    yield f'{drawn} <span class="figure">{escape(told)}</span>{soft(escape(still_open)) if still_open else ""}'
    yield escape(words.since(line)) + (soft(on(figure.last)) if figure.last else "")


def day_rows(loads: PlayerLoads) -> SafeString:
    return rows(row(on(week.monday), map(day_cell, week.days), ' class="number"') for week in loads.latest_first)


def day_cell(day: LoadDay) -> tuple[str, str]:
    return on(day.day, "D"), escape(words.load_of_day(day))


def week_rows(loads: PlayerLoads) -> SafeString:
    labels = _("Load"), monotony_words(loads.deviation), strain_words(loads.deviation)
    return rows(row(on(week.monday), zip(labels, week_cells(week), strict=True)) for week in loads.latest_first)


def week_cells(week: ShownWeek) -> tuple[str, str, str]:
    return escape(words.week(week)), escape(words.monotony(week)), escape(words.strain(week))


def ratio_rows(loads: PlayerLoads) -> SafeString:
    labels = _("coupled"), _("uncoupled"), _("weighted")
    return rows(row(on(week.last_day), zip(labels, ratio_cells(week), strict=True)) for week in loads.latest_first)


def ratio_cells(week: ShownWeek) -> tuple[str, str, str]:
    return escape(words.coupled(week)), escape(words.uncoupled(week)), escape(words.weighted_ratio(week))


def monotony_words(deviation: Deviation) -> str:
    return _("Monotony (%(deviation)s deviation)") % {"deviation": words.deviation(deviation)}


def strain_words(deviation: Deviation) -> str:
    return _("Strain (%(deviation)s deviation), AU") % {"deviation": words.deviation(deviation)}


def squad_rows(ledger: SquadLedger) -> SafeString:
    labels = _("Minutes"), _("Longest left alone"), _("Load of the week"), _("Numbers missing")
    return rows(row(player_head(line, ledger), zip(labels, squad_cells(line), strict=True)) for line in ledger.lines)


def player_head(line: SquadLine, ledger: SquadLedger) -> str:
    player = line.player
    address = reverse("player_ledger", args=(ledger.squad.club.slug, player.pk))
    link = f'<a href="{address}?week={ledger.weeks.last_monday}">{escape(player.sheet_name)}</a>'
    return f'<span class="group">{player.group}</span> {link}'


def squad_cells(line: SquadLine) -> Iterator[str]:
    told = words.against(line.covered, line.target)
    unconfirmed = words.unconfirmed_words(line.unconfirmed)
    drawn = f'{bar(told, line.covered, line.target)} <span class="figure">{escape(told)}</span>'
    yield drawn + (soft(escape(unconfirmed)) if unconfirmed else "")
    alone = line.left_alone
    yield escape(f"{alone.name}, {words.since(alone, LOOKED_BACK)}") if alone else "–"
    yield escape(week_load(line.load) if line.load else _("nothing is told"))
    yield str(line.numbers_missing)


def week_load(load: WeekLoad) -> str:
    return words.week_load(load.load, load.known, load.open_days, is_unconfirmed=load.is_unconfirmed)
