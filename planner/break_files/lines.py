"""Breaks from lines of text, one each: name; first day; last day. Without a last day it is a single day."""

from __future__ import annotations

import re

from django.utils.translation import gettext as _

from planner.break_files.found import FoundBreak, FoundBreaks, day_in, found_break
from planner.core.calendar import Stretch
from planner.fixture_files.found import Refusal, Refused, cut
from shared.cells import Unreadable

MOST_LINES = 500


def read(text: str, season: Stretch) -> FoundBreaks:
    """Empty lines are passed over but keep their number. Raises Unreadable."""
    lines = [(number, line.strip()) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if not lines:
        raise Unreadable(_("There is no line to read. Write one break on each: name; first day; last day."))
    if len(lines) > MOST_LINES:
        raise Unreadable(_("These are more than %(most)d lines. Enter them in parts.") % {"most": MOST_LINES})
    return FoundBreaks(tuple(entry_of(number, line, season) for number, line in lines), _("lines of text"))


def entry_of(number: int, line: str, season: Stretch) -> FoundBreak | Refusal:
    where = _("line %(line)d") % {"line": number}
    try:
        name, first, last = parted(line)
        begins = day_in(first, season)
        return found_break(where, name, Stretch(begins, day_in(last, season) if last else begins), season)
    except Refused as refusal:
        return Refusal(where, cut(line, "opponent"), refusal.reason)


def parted(line: str) -> tuple[str, str, str]:
    """At semicolons or tabs, as a spreadsheet copies them; at commas if there is neither. Raises Refused."""
    parts = re.split(r"[;\t]", line) if re.search(r"[;\t]", line) else line.split(",")
    parts = [part.strip() for part in parts]
    while len(parts) > 2 and not parts[-1]:
        parts.pop()
    if not 2 <= len(parts) <= 3:
        raise Refused(_("it is not of two or three parts. Write: name; first day; last day"))
    return parts[0], parts[1], parts[2] if len(parts) == 3 else ""
