"""A night on paper as it was run: each station, who was there, how each line came to be."""

from __future__ import annotations

import datetime as dt

from django.utils.translation import gettext as _

from planner.record_night import NightRecord
from planner.record_page import stations_told
from shared.printing import pdf


def record_pdf(night: NightRecord, today: dt.date) -> bytes:
    """As many pages as it takes; raises what shared.printing raises."""
    title = _("As it was run, %(session)s") % {"session": night.session}
    told = {"night": night, "session": night.session, "stations": stations_told(night), "today": today}
    return pdf("print/record.html", told, title=title)
