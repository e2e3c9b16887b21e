"""The welfare officer's week and the report on one player, on paper."""

from __future__ import annotations

from django.utils.translation import gettext as _

from planner.report import Report
from planner.welfare import WelfareWeek
from shared.printing import Layout, lay_out, pdf

# Points of plain type, tried in turn until the week fits one side; the last one may run to a second.
SIZES = (10.0, 9.0, 8.0, 7.0, 6.5)


def welfare_pdf(week: WelfareWeek) -> bytes:
    """One A4 side wherever it fits; raises what shared.printing raises."""
    return fitted(week).pdf()


def fitted(week: WelfareWeek) -> Layout:
    title = _("Contact of the week, %(squad)s") % {"squad": week.squad}
    for size in SIZES:
        layout = lay_out("print/welfare.html", {"week": week, "size": f"{size}pt"}, title=title)
        if layout.pages == 1:
            break
    return layout


def report_pdf(report: Report) -> bytes:
    """As many pages as it takes; raises what shared.printing raises."""
    title = _("Contact of %(player)s") % {"player": report.player.sheet_name}
    return pdf("print/report.html", {"report": report}, title=title)
