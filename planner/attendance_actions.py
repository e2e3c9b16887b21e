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

from planner.attendance import Key, replies_of, said_span, span_of_session, taps_of
from planner.attendance_models import Mark, MarkState, Reply
from planner.changes import Refused
from planner.core.presence import OPEN, state_of
from planner.models import Session
from planner.record_models import Confirmation
from shared import audit
from shared.clock import today_at
from shared.models import User
from squads.models import Player

MARKED_AFTERWARDS = dt.timedelta(days=7)  # house rule: who remembers longer corrects the record


@dataclass(frozen=True, slots=True)
class Said:
    """What one player says of one night; times are those at the club.

    `answers`: the key of the reply that stood before whoever says it, 0 if none did. None: he says it whatever stood.
    """

    player: Player
    session: Session
    coming: bool
    from_time: dt.time | None = None
    until_time: dt.time | None = None
    answers: int | None = None

    @property
    def key(self) -> Key:
        return self.player.pk, self.session.pk

    def is_news(self, last: Reply | None) -> bool:
        return last is None or (self.coming, self.from_time, self.until_time) != (
            last.coming,
            last.from_time,
            last.until_time,
        )

    def has_seen(self, last: Reply | None) -> bool:
        return self.answers is None or self.answers == (last.pk if last else 0)


@dataclass(frozen=True, slots=True)
class Noted:
    """How many replies were added; `unseen` were not, because somebody else said something meanwhile."""

    count: int
    unseen: tuple[Said, ...] = ()


@transaction.atomic
def note_replies(*, said: Iterable[Said], by: User | None, said_by: str = "", today: dt.date | None = None) -> Noted:
    """Add what differs from what each said last. Without `by` he said it himself."""
    said = list(said)
    known = replies_of(locked({each.session.pk for each in said}))
    news = [each for each in said if each.is_news(known.get(each.key))]
    unseen = tuple(each for each in news if not each.has_seen(known.get(each.key)))
    for each in news:
        if each not in unseen:
            add_reply(each, by, said_by, today)
    return Noted(len(news) - len(unseen), unseen)


def locked(sessions: Collection[int]) -> list[Session]:
    """Two who say something of the same night at once stand in line; whoever comes second sees what the first said."""
    return list(Session.objects.select_for_update(of=("self",)).filter(pk__in=sessions).order_by("pk"))


def add_reply(said: Said, by: User | None, said_by: str, today: dt.date | None) -> Reply:
    if reason := why_not(said, today):
        raise Refused(reason)
    row = Reply.objects.create(
        player=said.player,
        session=said.session,
        coming=said.coming,
        from_time=said.from_time,
        until_time=said.until_time,
        said_by=said_by or str(by or said.player),
        entered_by=by,
    )
    audit.record(
        said.player.squad.club, "noted reply", said.player, by=by or said.player,
        session=str(said.session), says=row.words, said_by=row.said_by,
    )  # fmt: skip
    return row


def why_not(said: Said, today: dt.date | None = None) -> str:
    """Why this cannot be noted, in words; "" if it can. The slots of the session should be fetched with it."""
    session = said.session
    if session.cancelled:
        return _("%(session)s does not take place.") % {"session": session}
    if session.day < (today or today_at(session.squad.club)):
        return _("%(session)s is past: say who was there on its own page.") % {"session": session}
    return why_not_these_times(said)


def why_not_these_times(said: Said) -> str:
    if said.from_time and said.until_time and said.until_time <= said.from_time:
        return _("Nobody leaves before he comes. Mend one of the two times.")
    whole = span_of_session(said.session)
    starts, ends = said_span(said.session, said.from_time, said.until_time, whole)
    if whole[0] < whole[1] and starts >= ends:
        zone = said.session.zone
        told = {"from": f"{whole[0].astimezone(zone):%H:%M}", "until": f"{whole[1].astimezone(zone):%H:%M}"}
        return _("The night is from %(from)s until %(until)s: of that nothing is left. Choose “no”.") % told
    return ""


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
    refuse_other_times(session, today)
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


def refuse_other_times(session: Session, today: dt.date | None) -> None:
    """Marks are made on the night and some days after, as long as nobody has confirmed what happened."""
    today = today or today_at(session.squad.club)
    if session.day > today:
        raise Refused(_("%(session)s is still to come: note a reply instead.") % {"session": session})
    if Confirmation.objects.filter(session=session).exists():
        raise Refused(
            _("The record of %(session)s is confirmed, so nobody is marked any more: correct the record instead.")
            % {"session": session}
        )
    if session.day < today - MARKED_AFTERWARDS:
        raise Refused(
            _("%(session)s is more than %(days)d days ago, so nobody is marked any more: use its record instead.")
            % {"session": session, "days": MARKED_AFTERWARDS.days}
        )


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
