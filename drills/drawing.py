"""What people do to the drawing of a drill. A drawing is part of the drill: a change makes its next version."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from drills.actions import DrillRefused, add_drill, edit_drill
from drills.core import diagram as diagrams
from drills.entries import entry_of
from drills.models import Drill
from drills.schema import longest
from shared.models import User


@transaction.atomic
def set_diagram(drill: Drill, diagram: Any, *, version: int, by: User | str, today: dt.date) -> Drill:
    """Make a drill carry this diagram, None for none. Raises DrillRefused and EditedMeanwhile."""
    entry = entry_of(Drill.objects.for_card().get(pk=drill.pk)) | {"diagram": _judged(diagram)}
    return edit_drill(drill, entry, version=version, by=by, today=today)


@transaction.atomic
def copy_with_diagram(drill: Drill, diagram: Any, *, by: User | str, today: dt.date) -> Drill:
    """A new drill that says what this one says and carries this diagram. Raises DrillRefused."""
    last = Drill.objects.of(drill.club).aggregate(last=Max("number"))["last"] or 0
    suffix = _(" (copy)")
    name = drill.name[: longest("name") - len(suffix)] + suffix
    entry = entry_of(drill) | {"number": last + 1, "name": name, "diagram": _judged(diagram)}
    return add_drill(drill.club, entry, by=by, today=today, like=drill)


def _judged(diagram: Any) -> dict[str, Any] | None:
    """The diagram in the one way to write it, so that the same drawing is never a change."""
    if diagram is None:
        return None
    try:
        return diagrams.written(diagrams.read(diagram))
    except diagrams.NotADiagram as refused:
        raise DrillRefused(refused.faults) from None
