"""Days and weeks of the calendar as HTML.

They are written here and not by templates, because a season has hundreds of days: a template looks up each name, word
and address anew for every one of them, and took about four times as long.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from html import escape

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from planner.calendar_days import Day, Entry, Week
from planner.calendar_words import DayNames


class Drawn:
    """What the pages of the calendar have in common; made for one page."""

    def __init__(self) -> None:
        self.names = DayNames()
        self._move, self._today = escape(_("Move")), escape(_("today"))
        self._off = escape(_("no training: %(why)s"))

    def movable(self, entry: Entry, day: dt.date) -> SafeString:
        """A session or a match, with the link to the form that moves it."""
        if not entry.move:
            return mark_safe(f'<p class="{css(entry)}">{told(entry, entry.more)}</p>')
        text, name = escape(entry.text), self.names.whole(day)
        move = f'<a class="move" href="{entry.move}">{self._move}<span class="hidden-text"> {name} {text}</span></a>'
        drag = f'data-entry="{entry.move}" data-name="{text}"'
        return mark_safe(f'<p class="{css(entry)}" {drag}>{told(entry, entry.more)} {move}</p>')

    def off(self, day: Day) -> SafeString:
        """Why nobody trains."""
        return mark_safe("".join(f'<p class="soft">{self._off % {"why": escape(why)}}</p>' for why in day.off))

    def cells(self, week: Week) -> SafeString:
        """The days of a week as cells of a month."""
        return mark_safe("".join(map(self._cell, week.days)))

    def _cell(self, day: Day) -> str:
        date = day.day
        number = self.names.in_year(date) if day.is_outside else date.day
        return (
            f'<td class="{day.css}" data-day="{date}" data-day-name="{self.names.whole(date)}">'
            f'<p class="date"><span class="weekday">{self.names.weekday(date)}</span> {number}'
            f"{self._now(day)}{distance(day)}</p>{self.off(day)}"
            f"{''.join(self.movable(entry, date) for entry in day.entries)}</td>"
        )

    def _now(self, day: Day) -> str:
        return f' <b class="now">{self._today}</b>' if day.is_today else ""

    def short(self, week: Week) -> SafeString:
        """What stands in a week, an entry a line."""
        lines = (self._line(entry, self.names.in_week(day.day)) for day in week.days for entry in day.entries)
        return mark_safe("".join(lines))

    @staticmethod
    def _line(entry: Entry, day: str) -> str:
        state = f' <span class="word near">{escape(entry.state)}</span>' if entry.is_off else ""
        text = linked(escape(entry.text), entry.address)
        return f'<p class="{css(entry, off=False)}"><span class="weekday">{day}</span> {text}{state}</p>'

    def days(self, week: Week) -> SafeString:
        """The days of a week as a list."""
        return mark_safe(f'<ol class="days">{"".join(map(self._day, week.days))}</ol>')

    def _day(self, day: Day) -> str:
        today = f' data-today=" · {self._today}"' if day.is_today else ""
        entries = "".join(f'<p class="{css(entry)}">{told(entry, entry.at_length)}</p>' for entry in day.entries)
        classes = " ".join(word for word, holds in (("bare", not entries), ("today", day.is_today)) if holds)
        date = f'<span class="date"{today}>{self.names.in_week(day.day)}</span>'
        return f'<li class="{classes}">{date}{distance(day)}{entries}</li>'

    def beside(self, week: Week) -> SafeString:
        """The phases and breaks of a week."""
        phases = (f' <span class="word">{escape(phase)}</span>' for phase in week.phases)
        breaks = (f' <span class="soft">{self._off % {"why": escape(why)}}</span>' for why in week.breaks)
        return mark_safe("".join((*phases, *breaks)))


def told(entry: Entry, more: str) -> str:
    """Its name, struck out with a word where it does not take place as planned, and what more is said of it."""
    text = escape(entry.text)
    state = f' <span class="word near">{escape(entry.state)}</span>' if entry.is_off else ""
    soft = f' <span class="soft">{escape(more)}</span>' if more else ""
    return f"{linked(f'<s>{text}</s>' if entry.is_off else text, entry.address)}{state}{soft}"


def linked(text: str, address: str) -> str:
    return f'<a href="{address}">{text}</a>' if address else text


def css(entry: Entry, *, off: bool = True) -> str:
    words = (("match", entry.is_match), ("off", off and entry.is_off))
    return " ".join(("entry", *(word for word, holds in words if holds)))


def distance(day: Day) -> str:
    return f' <span class="md">{day.distance}</span>' if day.distance else ""


def options(places: Iterable[tuple[str, str]], here: str) -> SafeString:
    """What a list of places to jump to offers, each with its value and its words."""
    return mark_safe(
        "".join(
            f'<option value="{value}"{" selected" if value == here else ""}>{escape(words)}</option>'
            for value, words in places
        )
    )
