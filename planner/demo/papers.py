"""What the demo prints: the first night that is planned, its cards, and the block's contact totals."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from planner.core.calendar import monday_of
from planner.models import Block, Session
from planner.papers import totals_pdf
from planner.sheets import cards_tonight_pdf, sheet_pdf
from planner.totals import totals_csv_text, totals_of


def papers(block: Block, today: dt.date) -> Iterator[tuple[str, bytes]]:
    """File names with their content."""
    night = next_night(block, today)
    yield "session-sheet.pdf", sheet_pdf(night, today)
    yield "drill-cards.pdf", cards_tonight_pdf(night, today)
    totals = totals_of(block.squad, monday_of(block.first_day), block.weeks, today)
    yield "contact-totals.csv", totals_csv_text(totals).encode("utf-8-sig")
    yield "contact-totals.pdf", totals_pdf(totals)


def next_night(block: Block, today: dt.date) -> Session:
    """The first night with stations that is still to come."""
    nights = Session.objects.filter(squad=block.squad, slots__stations__isnull=False)
    return (
        nights.between(max(today, block.first_day), block.last_day)
        .select_related("squad__club")
        .order_by("starts_at")
        .first()
    )
