"""What people do about how hard it was: a player on his own page, a coach in a list, a file.

Every verb adds rows and changes none; all raise Refused, with sentences for the person who asked, when nothing was
written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.core.record import LONGEST
from planner.core.rpe import HIGHEST
from planner.link_actions import hold, refuse_flood
from planner.link_models import PlayerLink
from planner.rpe import Occasion, number_words
from planner.rpe_days import settle_loads
from planner.rpe_imports import RpeImport, rpe_in
from planner.rpe_models import Rpe, newest
from planner.turns import take_turn
from shared import audit
from shared.models import User
from shared.preview import Outdated, Preview
from squads.models import Player, Squad


@dataclass(frozen=True, slots=True)
class Told:
    """What one player says of a night or a match. `number` None: nothing any more. `minutes` None: as the record says.

    `answers`: the key of the answer that stood before whoever says it, 0 if none did. None: whatever stood.
    """

    player: Player
    occasion: Occasion
    number: int | None
    minutes: int | None = None
    answers: int | None = None

    def is_news(self, last: Rpe | None) -> bool:
        if last is None:
            return self.number is not None
        return (self.number, self.minutes) != (last.number, last.minutes)

    def has_seen(self, last: Rpe | None) -> bool:
        return self.answers is None or self.answers == (last.pk if last else 0)


@dataclass(frozen=True, slots=True)
class Noted:
    """How many answers were added; `unseen` were not, because somebody said something else meanwhile."""

    count: int
    unseen: tuple[Told, ...] = ()


@transaction.atomic
def note_rpe(*, told: Iterable[Told], by: User | None, said_by: str = "", now: dt.datetime | None = None) -> Noted:
    """Add what differs from what stood, for players of one squad: all or none, but for what somebody said meanwhile.
    Without `by` each said it himself."""
    told, now = list(told), now or timezone.now()
    if not told:
        return Noted(0)
    squad = take_turn(told[0].player.squad)
    news, unseen = told_apart(told)
    for each, last in news:
        name = str(by or each.player)
        add_rpe(each, by, said_by.strip() or name, now)
        audit.record(
            squad.club, "noted RPE" if each.number is not None else "took RPE back", each.player, by=by or each.player,
            of=str(each.occasion), says=number_words(each.number), minutes=each.minutes,
            was=number_words(last.number) if last else "", told_by=said_by.strip() or name,
        )  # fmt: skip
    settle_days(squad, news)
    return Noted(len(news), unseen)


def told_apart(told: Iterable[Told]) -> tuple[list[tuple[Told, Rpe | None]], tuple[Told, ...]]:
    """What is new, each with what stood before; and what answers something else than what stands."""
    known = standing(told)
    pairs = [(each, known.get((each.player.pk, each.occasion.name))) for each in told]
    news = [(each, last) for each, last in pairs if each.is_news(last)]
    return [pair for pair in news if pair[0].has_seen(pair[1])], tuple(
        each for each, last in news if not each.has_seen(last)
    )


def standing(told: Iterable[Told]) -> dict[tuple[int, str], Rpe]:
    nights = {each.occasion.session.pk for each in told if each.occasion.session}
    matches = {each.occasion.fixture.pk for each in told if each.occasion.fixture}
    players = {each.player.pk for each in told}
    return newest(Rpe.objects.filter(Q(session__in=nights) | Q(fixture__in=matches), player__in=players))


def add_rpe(told: Told, by: User | None, said_by: str, now: dt.datetime) -> None:
    if reason := why_not(told, now):
        raise Refused(reason)
    Rpe.objects.create(
        player=told.player, **told.occasion.keys, number=told.number, minutes=told.minutes,
        said_by=said_by[:120], himself=by is None, by=by, by_name=str(by or told.player)[:150], at=now,
    )  # fmt: skip


def settle_days(squad: Squad, news: Iterable[tuple[Told, Rpe | None]]) -> None:
    for day in {each.occasion.day for each, _last in news}:
        settle_loads(squad, day, day)


def why_not(told: Told, now: dt.datetime) -> str:
    """Why this cannot be noted, in words; "" if it can."""
    occasion = told.occasion
    if occasion.squad.pk != told.player.squad_id:
        return _("%(player)s is not in this squad. Open the page again.") % {"player": told.player}
    if occasion.is_off:
        return _("%(what)s does not take place.") % {"what": occasion}
    if occasion.ends > now:
        return _("%(what)s is not over yet: one number for the whole of it, about half an hour after the end.") % {
            "what": occasion
        }
    if told.number is not None and not 0 <= told.number <= HIGHEST:
        return _("%(number)d is not on the scale: write a whole number from 0 to 10.") % {"number": told.number}
    if told.minutes is not None and not 1 <= told.minutes <= LONGEST:
        return _("%(minutes)d minutes: write a whole number from 1 to %(most)d.") % {
            "minutes": told.minutes,
            "most": LONGEST,
        }
    return ""


@transaction.atomic
def say_himself(*, link: PlayerLink, told: Told, now: dt.datetime | None = None) -> Noted:
    """What a player says through his own page. Raises NoSuchLink and Refused."""
    refuse_flood(hold(link).player)
    return note_rpe(told=[told], by=None, now=now)


@transaction.atomic
def import_rpe(*, squad: Squad, content: bytes, filename: str, by: User, seen: str | None = None) -> Preview:
    """Write every acceptable row of a file, or none; returns what was done.

    `seen` is the fingerprint of the preview that was confirmed. Raises Unreadable, and Outdated if the rows would
    now do something else: what somebody said meanwhile is seen before it is replaced.
    """
    squad = take_turn(squad)
    found: RpeImport = rpe_in(squad, content, filename)
    if seen is not None and seen != found.preview.fingerprint:
        raise Outdated(found.preview)
    said_by = _("file %(name)s") % {"name": filename}
    news, _unseen = told_apart([Told(row.player, row.occasion, row.number, row.minutes) for row in found.rows])
    for each, _last in news:
        add_rpe(each, by, said_by, timezone.now())
    settle_days(squad, news)
    if not found.preview.nothing_to_do:
        says = [f"{each.player}, {each.occasion}: {each.number}" for each, _last in news]
        audit.record(squad.club, "imported RPE", squad, by=by, file=filename, rows=says)
    return found.preview
