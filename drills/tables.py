"""The library as a table for other programs: one row for each drill, in stable columns by RFC 4180."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

from drills import words
from drills.models import Drill, DrillQuerySet
from shared.cells import harmless

Column = Callable[[Drill], object]


def _field(name: str) -> Column:
    return lambda drill: getattr(drill, name)


def _lines(name: str) -> Column:
    return lambda drill: "; ".join(getattr(drill, name))


PLAIN_FIRST = ("number", "name", "version", "revised_on", "author", "retired_on", "purpose")
COLUMNS: dict[str, Column] = {
    **{name: _field(name) for name in PLAIN_FIRST},
    "skills": lambda drill: "; ".join(_taught(drill)),
    "groups": lambda drill: " ".join(drill.groups),
    "needs": lambda drill: " ".join(f"{count}x{group}" for group, count in drill.needs.items()),
    **{f"players_{part}": _field(f"players_{part}") for part in ("least", "ideal", "most")},
    **{name: _field(name) for name in ("one_more", "one_fewer", "group_shape", "age_from", "training_age")},
    **{f"grid_{part}": _field(f"grid_{part}") for part in ("width", "length", "per")},
    "kit": words.kit,
    **{name: _field(name) for name in ("set_up", "trigger")},
    "runs": _lines("runs"),
    "ends": _field("ends"),
    "cues": _lines("cues"),
    "questions": _lines("questions"),
    "faults": lambda drill: "; ".join(f"{pair['fault']} → {pair['fix']}" for pair in drill.faults),
    "success": _field("success"),
    **{f"minutes_{part}": _field(f"minutes_{part}") for part in ("least", "ideal", "most")},
    **{name: _field(name) for name in ("sets", "work_rest", "rpe", "rung", "contact_share")},
    **{f"contacts_{part}": _field(f"contacts_{part}") for part in ("least", "most")},
    "ladder": lambda drill: drill.ladder.code if drill.ladder else "",
    **{name: _field(name) for name in ("step", "easier", "harder", "coaches", "coach_place")},
    "safety": _lines("safety"),
}


def library_csv(drills: DrillQuerySet) -> str:
    """Of the drills given; lists have their parts behind semicolons. The drawing is left to the pack."""
    written = io.StringIO()
    writer = csv.writer(written)
    writer.writerow(COLUMNS)
    for drill in drills.for_card():
        writer.writerow([_cell(column(drill)) for column in COLUMNS.values()])
    return written.getvalue()


def _cell(value: object) -> str:
    return "" if value is None else harmless(str(value))


def _taught(drill: Drill) -> list[str]:
    return [
        f"{taught.skill.code} {taught.share} %" + (f" ({' '.join(taught.roles)})" if taught.roles else "")
        for taught in drill.skill_shares.all()
    ]
