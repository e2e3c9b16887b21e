"""What people do about who comes: replies, and marks on the night.

All verbs raise Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from planner.attendance import replies_of, taps_of
from planner.attendance_models import Mark, MarkState, Reply
from planner.changes import Refused
from planner.core.presence import OPEN, state_of
from planner.models import Session
from shared import audit
from shared.clock import today_at
from shared.models import User
from squads.models import Player


@dataclass(frozen=True, slots=True)
class Said:
    """What one player says of one night; times are those at the club."""

    player: Player
    session: Session
    coming: bool
    from_time: dt.time | None = None
    until_time: dt.time | None = None


@transaction.atomic
def note_replies(*, said: Iterable[Said], by: User | None, said_by: str = "", today: dt.date | None = None) -> int:
    """Add what differs from what each said last; returns how many rows that are. Without `by` he said it himself."""
    said = list(said)
    known = replies_of({each.session.pk: each.session for each in said}.values())
    new = [each for each in said if is_news(each, known.get((each.player.pk, each.session.pk)))]
    for each in new:
        refuse_past(each.session, today)
        refuse_times(each)
        row = Reply.objects.create(
            player=each.player,
            session=each.session,
            coming=each.coming,
            from_time=each.from_time,
            until_time=each.until_time,
            said_by=said_by or str(by or each.player),
            entered_by=by,
        )
        audit.record(
            each.player.squad.club, "noted reply", each.player, by=by or each.player,
            session=str(each.session), says=row.words, said_by=row.said_by,
        )  # fmt: skip
    return len(new)


def is_news(said: Said, last: Reply | None) -> bool:
    return last is None or (said.coming, said.from_time, said.until_time) != (
        last.coming,
        last.from_time,
        last.until_time,
    )


def refuse_past(session: Session, today: dt.date | None) -> None:
    if session.day < (today or today_at(session.squad.club)):
        raise Refused(_("%(session)s is past: say who was there on its own page.") % {"session": session})


def refuse_times(said: Said) -> None:
    if said.from_time and said.until_time and said.until_time <= said.from_time:
        raise Refused(_("He cannot leave before he comes. Mend one of the two times."))


@dataclass(frozen=True, slots=True)
class Tapped:
    """One tap as a page made it. `key` is the tap's own for ever; `at` by the clock of the device."""

    key: uuid.UUID
    player: int
    state: str
    at: dt.datetime
    seen: tuple[str, ...] = ()


@transaction.atomic
def mark(*, session: Session, taps: Collection[Tapped], by: User, today: dt.date | None = None) -> int:
    """Add the taps that are not known yet, all or none; returns how many those are. In whatever order they come."""
    refuse_to_come(session, today)
    Session.objects.select_for_update(of=("self",)).get(pk=session.pk)
    known = set(Mark.objects.filter(key__in=[tap.key for tap in taps]).values_list("key", flat=True))
    new = {tap.key: tap for tap in taps if tap.key not in known}
    players = {player.pk: player for player in session.squad.players.filter(pk__in=[t.player for t in new.values()])}
    if any(tap.player not in players for tap in new.values()):
        raise Refused(_("A player of this page is not in the squad any more. Open the page again."))
    for tap in new.values():
        Mark.objects.create(
            key=tap.key, session=session, player=players[tap.player], state=tap.state,
            at=tap.at, seen=list(tap.seen), by=by, by_name=str(by)[:150],
        )  # fmt: skip
    if new:
        told = [f"{players[tap.player]}: {tap.state}" for tap in new.values()]
        audit.record(session.squad.club, "marked who is here", session, by=by, marks=told)
    return len(new)


def refuse_to_come(session: Session, today: dt.date | None) -> None:
    if session.day > (today or today_at(session.squad.club)):
        raise Refused(_("%(session)s is still to come: note a reply instead.") % {"session": session})


@transaction.atomic
def mark_rest_away(*, session: Session, players: Iterable[Player], by: User, today: dt.date | None = None) -> int:
    """ "Not here" for each of these whom nobody has marked."""
    taps = taps_of([session])
    now = timezone.now()
    rest = []
    for player in players:
        state = state_of(taps.get((player.pk, session.pk), []))
        if state is None or state.tap.state == OPEN:
            seen = tuple(head.key for head in state.heads) if state else ()
            rest.append(Tapped(uuid.uuid4(), player.pk, MarkState.AWAY, now, seen))
    return mark(session=session, taps=rest, by=by, today=today)
