"""A list or calendar of breaks against those of a season: a preview, and the breaks that confirming it would leave.

A break is recognised by its UID, by its name and days, or where it only grew (`planner.core.breaks.recognised`). What
the list leaves out stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from planner.break_files import ics, lines, table
from planner.break_files.found import FoundBreak, FoundBreaks
from planner.breaks import told
from planner.column_models import BreakColumns
from planner.core.breaks import recognised, repeated, taken_over
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.falling_out import breaks_of
from planner.fixture_files.found import Refusal, Wanted
from planner.imports import looks_like_calendar, origin_of, refused
from planner.models import Season
from shared.preview import Change, Line, Preview, State

PASTED = "pasted lines"  # the name under which lines are kept until they are confirmed


@dataclass(frozen=True, slots=True)
class BreakImport:
    preview: Preview
    wanted: tuple[Break, ...]
    day_order_is_open: bool = False


def breaks_in(season: Season, content: bytes, filename: str) -> BreakImport:
    """Compare lines or a file with the season's breaks; nothing is written. Raises Unreadable."""
    file, known = read_file(season, content, filename), breaks_of(season)
    named = [entry for entry in file.entries if isinstance(entry, FoundBreak)]
    again = repeated([entry.gap for entry in named])
    found = [entry for place, entry in enumerate(named) if place not in again]
    pairs = dict(zip(map(id, found), recognised([entry.gap for entry in found], known), strict=True))
    earlier = {id(named[place]): named[first].where for place, first in again.items()}
    preview = Preview(
        tuple(line_of(entry, pairs, earlier) for entry in file.entries),
        tuple(told(gap) for gap in known if gap not in pairs.values()),
        origin_of(file),
    )
    wanted = tuple(wanted_after(known, found, pairs))
    return BreakImport(preview, wanted, file.day_order_is_open)


def read_file(season: Season, content: bytes, filename: str) -> FoundBreaks:
    days, club = Stretch(season.first_day, season.last_day), season.squad.club
    if filename == PASTED:
        return lines.read(content.decode(), days)
    if looks_like_calendar(content, filename):
        return ics.read(content, filename, Wanted(club.tzinfo, club.name, (days,)))
    return table.read(content, filename, days, BreakColumns.objects.reading_for(season.squad))


def is_table(content: bytes, filename: str) -> bool:
    return filename != PASTED and not looks_like_calendar(content, filename)


def line_of(entry: FoundBreak | Refusal, pairs: dict[int, Break | None], earlier: dict[int, str]) -> Line:
    if isinstance(entry, Refusal):
        return refused(entry)
    if where := earlier.get(id(entry)):
        return refused(Refusal(entry.where, told(entry.gap), _("%(where)s says the same already") % {"where": where}))
    known = pairs[id(entry)]
    if known is None:
        return Line(entry.where, told(entry.gap), State.NEW)
    changes = tuple(changes_of(known, taken_over(entry.gap, known)))
    return Line(entry.where, told(known), State.CHANGED if changes else State.SAME, changes)


def changes_of(before: Break, after: Break) -> Iterator[Change]:
    for field, old, new in (
        (_("why"), before.name, after.name),
        (_("first day"), date_format(before.days.first, "D j M Y"), date_format(after.days.first, "D j M Y")),
        (_("last day"), date_format(before.days.last, "D j M Y"), date_format(after.days.last, "D j M Y")),
        (_("reference"), before.uid, after.uid),
    ):
        if old != new:
            yield Change(field, old, new)


def wanted_after(known: list[Break], found: list[FoundBreak], pairs: dict[int, Break | None]) -> Iterator[Break]:
    changed = {other.key: taken_over(entry.gap, other) for entry in found if (other := pairs[id(entry)])}
    yield from (changed.get(gap.key, gap) for gap in known)
    yield from (entry.gap for entry in found if pairs[id(entry)] is None)
