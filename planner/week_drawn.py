"""Players and names of a week, drawn in Python as in `totals_drawn`: there is one for each player and slot."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from django.template.defaultfilters import floatformat
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from planner.core.totals import LIMITED, Room
from planner.totals_drawn import figure_cell, kind_head, room_word, soft, word
from planner.weeks import Load, Name, Need
from shared.charts import plumb_bar
from shared.templatetags.plumbline import minutes
from squads.models import Player

OPEN = (Room.PAST, Room.NOT_ALLOWED)


def need_rows(needs: Iterable[Need]) -> SafeString:
    """A player a line, which opens to what he has of the week and still lacks of the block."""
    drawn = DrawnNeeds()
    return mark_safe("".join(map(drawn.row, needs)))


class DrawnNeeds:
    """Each word is looked up once; made for one page."""

    def __init__(self) -> None:
        self.language, self.heads = get_language(), {kind: kind_head(kind) for kind in LIMITED}
        self.short, self.minutes = _("%(n)s min short"), _("%(n)s min")
        self.load, self.load_told = escape(_("Load")), _("%(load)s AU this week, band %(low)s to %(high)s")
        self.load_words = {"past": word("past", _("above")), "below": word("near", _("below"))}
        self.still_short = escape(_("Still short in this block:"))

    def row(self, need: Need) -> str:
        room = need.week.room
        short = soft(self.short % {"n": floatformat(need.short, 0)}) if need.short else ""
        bars = "".join(
            f"<dt>{self.heads[each.kind]}</dt><dd>{figure_cell(each, self.language)}</dd>" for each in need.week.figures
        )
        load = f"<dt>{self.load}</dt><dd>{self.load_cell(need.load)}</dd>" if need.load else ""
        return (
            f'<li><details id="need-{need.player.pk}"{" open" if room in OPEN else ""}>'
            f"<summary><span>{named(need.player)}{room_word(room)}</span>{short}</summary>"
            f'<dl class="bars">{bars}{load}</dl>{self.skills(need)}</details></li>'
        )

    def load_cell(self, load: Load) -> str:
        """The bar has a notch at the least that is wanted."""
        low, high = ("–" if each is None else each for each in (load.low, load.high))
        told = self.load_told % {"load": load.load, "low": low, "high": high}
        bar = plumb_bar(load.load, load.high, told, load.low, 1.0)
        return f"{bar} <span>{escape(told)}</span>{self.load_words.get(load.room, '')}"

    def skills(self, need: Need) -> str:
        if not need.skills:
            return ""
        short = ", ".join(f"{name} {self.minutes % {'n': minutes(tally.short)}}" for name, tally in need.skills)
        return f'<p class="soft">{self.still_short} {escape(short)}</p>'


def station_names(names: Iterable[Name]) -> SafeString:
    """Who stands at a station, a line each."""
    return mark_safe("".join(map(name_line, names)))


def name_line(name: Name) -> str:
    mark = f' <span class="nc">{escape(name.mark)}</span>' if name.mark else ""
    times = soft(name.times) if name.times and not name.is_away else ""
    away = ' class="away"' if name.is_away else ""
    return f"<li{away}>{named(name.player)}{mark}{times}</li>"


def named(player: Player) -> str:
    return f'<span class="group">{player.group}</span> {escape(player.sheet_name)}'
