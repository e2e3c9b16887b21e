"""A season of nine Tuesdays, laid out, as it stands on a Wednesday in September when three of them are past."""

from __future__ import annotations

import datetime as dt
import re
import uuid
from html import unescape

from django.urls import reverse

from planner.attendance_models import Mark
from planner.calendar_actions import lay_out, save_night
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.falling_out import breaks_of
from planner.models import Session, TrainingNight
from planner.slot_plans import SlotPlan
from tests import factories as f

FIRST, LAST = dt.date(2026, 9, 1), dt.date(2026, 10, 31)
EARLY, TODAY = dt.date(2026, 8, 1), dt.date(2026, 9, 16)
SLOTS = [SlotPlan(10, "Warm-up", rpe=3), SlotPlan(12), SlotPlan(14)]


def october(first: int, last: int | None = None, name: str = "Half term", **more) -> Break:
    return Break(name, Stretch(dt.date(2026, 10, first), dt.date(2026, 10, last or first)), **more)


def tuesdays(season, head, weekday: int = 1) -> TrainingNight:
    night = save_night(
        night=TrainingNight(season=season),
        slots=SLOTS,
        by=head,
        weekday=weekday,
        starts=dt.time(19),
        venue_words="Mill Lane",
    )
    lay_out(season=season, by=head, today=EARLY)
    return night


def on(squad, month: int, day: int) -> Session:
    return squad.sessions.get(day=dt.date(2026, month, day))


def off(squad) -> list[str]:
    """The days on which a session is called off."""
    return [f"{session.day:%-d %b}" for session in squad.sessions.filter(cancelled=True).order_by("day")]


def standing(season) -> list[tuple[str, str, str]]:
    """The breaks as they are kept."""
    return [(gap.name, f"{gap.days.first:%d %b}", f"{gap.days.last:%d %b}") for gap in breaks_of(season)]


def mark(session, squad) -> None:
    at = dt.datetime(2026, 9, 16, tzinfo=f.LONDON)
    player = f.PlayerFactory(squad=squad)
    Mark.objects.create(key=uuid.uuid4(), player=player, session=session, state="here", at=at, by_name="Head")


def address(name: str, *keys) -> str:
    return reverse(name, args=["brackenford", *keys])


def text_of(answer) -> str:
    """The words of a page as a reader meets them."""
    body = answer.content.decode()
    body = re.sub(r"<(script|style)\b.*?</\1>", " ", body, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def hidden(answer) -> dict[str, list[str]]:
    """What the hidden fields of the page bring back, beside its token."""
    found: dict[str, list[str]] = {}
    for name, value in re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', answer.content.decode()):
        if name != "csrfmiddlewaretoken":
            found.setdefault(name, []).append(value)
    return found
