"""A player's ledger on paper, and as a table for other programs."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator

from django.utils.translation import gettext as _

from planner.core.ladder import RungFigure
from planner.core.load import Measured, Missing
from planner.core.record import Source
from planner.ledger import Ledger
from planner.ledger_loads import LoadDay, ShownWeek
from planner.ledger_skills import SkillLine
from shared.cells import harmless
from shared.printing import pdf

COLUMNS = ("part", "what", "from", "to", "figure", "value", "unit", "note")
Row = tuple[str, ...]


def ledger_pdf(ledger: Ledger) -> bytes:
    """As many pages as it takes; raises what shared.printing raises."""
    title = _("Skills and load of %(player)s") % {"player": ledger.player.sheet_name}
    return pdf("print/ledger.html", {"ledger": ledger}, title=title)


def ledger_csv_text(ledger: Ledger) -> str:
    """One row for each figure, in stable columns by RFC 4180; days by ISO 8601, numbers unrounded with a point.

    `value` is empty where there is no figure, and `note` says why: not known, undefined or too early; of a day also
    what lacks. It says "not confirmed" of each figure with something in it as it was planned, of nights that nobody
    has confirmed in 48 hours. `part` is skill, rung, day or week.
    """
    written = io.StringIO()
    writer = csv.writer(written)
    writer.writerow(COLUMNS)
    writer.writerows(rows_of(ledger))
    return written.getvalue()


def rows_of(ledger: Ledger) -> Iterator[Row]:
    span = ledger.weeks.first_day.isoformat(), ledger.last_day.isoformat()
    for line in ledger.skills:
        yield from skill_rows(line, span)
    for rung in ledger.rungs:
        yield from rung_rows(rung)
    for day in ledger.loads.days:
        yield day_row(day)
    for week in ledger.loads.weeks:
        yield from week_rows(week, ledger.loads.deviation.value)


def skill_rows(line: SkillLine, span: tuple[str, str]) -> Iterator[Row]:
    name, found = harmless(line.name), line.figure
    yield ("skill", name, *span, "minutes", f"{found.minutes:.2f}", "min", unsure(bool(found.unconfirmed)))
    yield ("skill", name, *span, "of these not confirmed", f"{found.unconfirmed:.2f}", "min", "")
    yield ("skill", name, *span, "target", f"{found.target:.2f}" if found.target else "", "min", "")
    yield ("skill", name, *span, "planned, night still open", f"{line.planned:.2f}", "min", "")
    last = notes(found.last.isoformat() if found.last else "", unsure(found.is_last_unconfirmed))
    yield ("skill", name, *span, "weeks since", "" if line.weeks is None else str(line.weeks), "weeks", last)


def unsure(is_unconfirmed: bool) -> str:
    return Source.NOT_CONFIRMED.value if is_unconfirmed else ""


def notes(*told: str) -> str:
    return "; ".join(filter(None, told))


def rung_rows(rung: RungFigure) -> Iterator[Row]:
    name, last = harmless(f"{rung.ladder}, {rung.rung}"), rung.last.isoformat()
    yield ("rung", name, "", last, "minutes", str(rung.minutes), "min", "")
    yield ("rung", name, "", last, "passed on", rung.passed_on.isoformat() if rung.passed_on else "", "day", "")


def day_row(day: LoadDay) -> Row:
    at = day.day.isoformat()
    return ("day", "", at, at, "load", *measured(day.load, "AU", of_day(day)))


def of_day(day: LoadDay) -> str:
    return notes(*(f"{each.occasion}: {each.gap.value}" for each in day.lacks), unsure(day.is_unconfirmed))


def week_rows(week: ShownWeek, deviation: str) -> Iterable[Row]:
    span, found, ratios = (week.monday.isoformat(), week.last_day.isoformat()), week.figures, week.ratios
    young = "warming up" if ratios.weighted.is_warming_up else ""
    mark, (of_month, of_all) = unsure(week.is_unconfirmed), map(unsure, week.unsure)
    spread = notes(f"{deviation} deviation", mark)
    figures = (
        ("load", measured(found.load, "AU", mark)),
        ("load known", (f"{found.so_far:g}", "AU", notes(f"{found.days_not_known} days not known", mark))),
        ("monotony", measured(found.monotony, "", spread)),
        ("strain", measured(found.strain, "AU", spread)),
        ("ratio 7:28 coupled", measured(ratios.coupled, "", of_month)),
        ("ratio 7:21 uncoupled", measured(ratios.uncoupled, "", of_month)),
        ("ratio 7:28 weighted", measured(ratios.weighted.value, "", notes(young, of_all))),
    )
    return [("week", "", *span, name, *told) for name, told in figures]


def measured(value: Measured, unit: str, note: str = "") -> tuple[str, str, str]:
    if isinstance(value, Missing):
        return "", unit, notes(value.value, note)
    return repr(value), unit, note
