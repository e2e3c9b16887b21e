"""The contact totals on paper."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from planner.core.totals import LIMITED
from planner.totals import Totals
from shared.charts import kind_words
from shared.printing import pdf

TEMPLATE = "print/totals.html"


def totals_pdf(totals: Totals) -> bytes:
    """Each week on pages of its own, the most urgent player first; raises what shared.printing raises."""
    title = _("Contact totals, %(squad)s") % {"squad": totals.squad}
    return pdf(TEMPLATE, context_of(totals), title=title)


def context_of(totals: Totals) -> dict[str, Any]:
    return {"totals": totals, "kinds": [(kind, kind_words(kind)) for kind in LIMITED]}
