"""What has run of a night that is under way, or is settled on it, binds the rest, which is a night of its own.

A drill is not run again tonight (H8), one that wants fresh legs does not come after a tiring one (H13), and themes
that have been seen count (H11). Both of the first are told as a piece of kit that only other nights have.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

from django.utils.translation import gettext as _

from planner.building.library import drill_id
from planner.building.nights import Nights
from planner.building.wishes_asked import Asked, theme_of
from planner.core import problem as core
from planner.models import Session

AGAIN, STALE = "again tonight ", "fresh tonight "
PLENTY = 1000  # of what only other nights have


@dataclass(frozen=True)
class UnderWay:
    nights: Nights
    asked: Asked

    @cached_property
    def ran(self) -> dict[int, int]:
        """Drills that have begun to run in a night of which some is left -> that night's key."""
        return {
            station.drill_id: night.pk
            for night, _slot, station in self.nights.stations(self.nights.begun)
            if station.standing
        }

    @cached_property
    def stale(self) -> set[int]:
        """Drills that want fresh legs, which something that has run tonight has tired."""
        wishes, drills = self.asked.wishes, self.asked.rows.drills
        if not (wishes and wishes.tiring_rpe and any(drills[key].rpe >= wishes.tiring_rpe for key in self.ran)):
            return set()
        return {key for key, wish in self.asked.of_drill.items() if wish.fresh}

    @cached_property
    def marks(self) -> dict[str, int]:
        """What only other nights have -> the drill that needs it."""
        found = {AGAIN + drill_id(key): key for key in self.ran}
        return found | {STALE + drill_id(key): key for key in self.stale - self.ran.keys()}

    def drill(self, drill: core.Drill) -> core.Drill:
        needed = {thing: 1 for thing, key in self.marks.items() if drill_id(key) == drill.id}
        return replace(drill, kit={**drill.kit, **needed}) if needed else drill

    def session(self, session: core.Session, night: Session) -> core.Session:
        """A session ahead, or what is left of the one under way."""
        if not self.marks:
            return session
        is_tonight = night.pk in self.ran.values()
        kit = {**session.kit, **dict.fromkeys(self.marks, 0 if is_tonight else PLENTY)}
        most = session.themes_most
        if is_tonight and most is not None:
            standing = [station.drill_id for _night, _slot, station in self.nights.stations([night])]
            most = max(0, most - len(self._themes(self.ran) - self._themes(standing)))
        return replace(session, kit=kit, themes_most=most)

    def _themes(self, drills: Collection[int]) -> set[str]:
        rows = self.asked.rows.drills
        return {theme for key in drills if (theme := theme_of(rows[key])) is not None}

    def words(self) -> dict[str, str]:
        drills = self.asked.rows.drills
        told = {AGAIN: _("second run of %(drill)s tonight"), STALE: _("fresh legs for %(drill)s tonight")}
        return {
            thing: (told[AGAIN] if thing.startswith(AGAIN) else told[STALE]) % {"drill": drills[key]}
            for thing, key in self.marks.items()
        }
