"""The slots of a night as values: what a night's template holds, and what a session's slots are changed to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.models import Session, Slot
from shared.core.contact import Kind

MOST_SLOTS = 30
MOST_MINUTES = 300
MOST_RPE = 10


@dataclass(frozen=True, slots=True)
class SlotPlan:
    """One slot: planned (no title), or fixed content with its minutes, RPE (0-10), contact kind and share (%)."""

    minutes: int
    title: str = ""
    rpe: int = 0
    kind: str = str(Kind.NONE)
    contact_share: int = 0

    def to_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def of(cls, slot: Slot) -> SlotPlan:
        return cls(slot.minutes, slot.title, slot.rpe, str(slot.kind), slot.contact_share)

    def slot_in(self, session: Session, order: int) -> Slot:
        return Slot(session=session, order=order, **asdict(self))

    def wrong(self) -> str:
        """What the slot lacks or has too much of, in words; "" for nothing."""
        if not 1 <= self.minutes <= MOST_MINUTES:
            return _("a slot lasts from 1 to %(most)d minutes") % {"most": MOST_MINUTES}
        if not self.title and (self.rpe or self.contact_share or self.kind != Kind.NONE):
            return _("a planned slot takes RPE and contact from its drills: leave them empty, or give it a title")
        if not 0 <= self.rpe <= MOST_RPE:
            return _("RPE goes from 0 to 10")
        if not 0 <= self.contact_share <= 100:
            return _("the time in contact is 0 to 100 per cent")
        if (self.kind == Kind.NONE) != (self.contact_share == 0):
            return _("contact needs a kind and its share of the time; without contact leave both empty")
        return ""


def template_of(slots: Iterable[SlotPlan]) -> list[dict[str, Any]]:
    """As a night keeps it. Raises Refused."""
    slots = list(slots)
    refuse_slots(slots)
    return [slot.to_json() for slot in slots]


def plans_in(template: Iterable[dict[str, Any]]) -> list[SlotPlan]:
    return [SlotPlan(**entry) for entry in template]


def refuse_slots(slots: Sequence[SlotPlan]) -> None:
    if not 1 <= len(slots) <= MOST_SLOTS:
        raise Refused(_("A session has from 1 to %(most)d slots.") % {"most": MOST_SLOTS})
    wrong = [
        _("Slot %(number)d: %(wrong)s.") % {"number": number, "wrong": slot.wrong()}
        for number, slot in enumerate(slots, start=1)
        if slot.wrong()
    ]
    if sum(slot.minutes for slot in slots) > MOST_MINUTES:
        wrong.append(_("Together the slots last more than %(most)d minutes.") % {"most": MOST_MINUTES})
    if wrong:
        raise Refused(*wrong)


def usual_night() -> list[SlotPlan]:
    """80 minutes to start from; every club changes them for each of its nights."""
    change = SlotPlan(4, _("Water, change over"))
    return [
        SlotPlan(2, _("Brief")),
        SlotPlan(10, _("Warm-up"), rpe=3),
        *[SlotPlan(12), change] * 3,
        SlotPlan(14),
        SlotPlan(6, _("Close"), rpe=1),
    ]
