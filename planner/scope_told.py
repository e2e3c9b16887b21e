"""A change of a night in words: each session before and after, what it keeps, and why others stay."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.core.breaks import why_off
from planner.core.laying_out import Break
from planner.core.scope import Merged
from planner.falling_out import breaks_of
from planner.forms.calendar import KIT
from planner.models import Session
from planner.scope import ScopePlan
from planner.slot_plans import SlotPlan
from shared.preview import Change


@dataclass(frozen=True, slots=True)
class ChangedSession:
    """`keeps`: what it holds instead of what its night changes to, since somebody changed it by hand."""

    name: str
    changes: tuple[Change, ...]
    keeps: tuple[str, ...]
    note: str


def changed_sessions(plan: ScopePlan) -> list[ChangedSession]:
    breaks = breaks_of(plan.asked.night.season)
    return [
        ChangedSession(
            date_format(session.day, "D j M"),
            tuple(
                Change(name_of(name), value_told(name, a), value_told(name, b))
                for name, (a, b) in merged.changes.items()
            ),
            tuple(kept_told(merged.kept)),
            note_of(session, plan.moments[session.pk].date(), breaks),
        )
        for session, merged in plan.changed
    ]


def note_of(session: Session, day: dt.date, breaks: Iterable[Break]) -> str:
    why = why_off(day, breaks)
    if session.cancelled and not why and day != session.day and hasattr(session, "fell_out"):
        return _("takes place again")
    if session.cancelled:
        return _("cancelled, and stays so")
    return _("falls out: %(why)s") % {"why": why} if why and day != session.day else ""


def stays_told(plan: ScopePlan) -> list[tuple[str, str]]:
    """Each session that stays as it is, by its day, with the reason."""
    return [
        (date_format(session.day, "D j M"), why if isinstance(why, str) else by_hand_told(why))
        for session, why in plan.kept
    ]


def by_hand_told(merged: Merged) -> str:
    return _("changed by hand: %(kept)s") % {"kept": "; ".join(kept_told(merged.kept))}


def kept_told(kept: Mapping[str, Any]) -> list[str]:
    return [f"{name_of(name)}: {value_told(name, value)}" for name, value in kept.items()]


def name_of(name: str) -> str:
    if name == "weekday":
        return _("day")
    if name == "starts":
        return _("starts")
    if name == "where":
        return _("venue")
    return _("slots") if name == "slots" else str(Session._meta.get_field(name).verbose_name)


def value_told(name: str, value: Any) -> str:
    if name == "weekday":
        return _("another week") if value is None else str(WEEKDAYS[value])
    if name == "slots":
        return slots_told(value)
    if isinstance(value, dt.time):
        return f"{value:%H:%M}"
    if name == "kit":
        return ", ".join(f"{KIT.get(item, item)} {count}" for item, count in value.items()) or "–"
    return str("" if value is None else value) or "–"


def slots_told(slots: Iterable[SlotPlan]) -> str:
    """ "3 slots, 36 min (Warm-up 10, 12, 14)"."""
    slots = list(slots)
    text = ngettext(
        "%(count)d slot, %(minutes)d min (%(each)s)", "%(count)d slots, %(minutes)d min (%(each)s)", len(slots)
    )
    return text % {
        "count": len(slots),
        "minutes": sum(slot.minutes for slot in slots),
        "each": ", ".join(f"{slot.title} {slot.minutes}".strip() for slot in slots),
    }
