"""Who comes to a night and who is there, from the replies before it and the marks on it."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from planner.attendance_models import Mark, Reply, said_words
from planner.core.calendar import at_wall_time
from planner.core.presence import AWAY, OPEN, Span, Tap, span_of, state_of
from planner.models import Session, Slot
from squads.core.eligibility import Word

Key = tuple[int, int]  # player and session
Words = Mapping[Key, Word]


@dataclass(frozen=True, slots=True)
class Stay:
    """A player (key) on a night, from when until when. `is_marked`: somebody saw him there; otherwise he is due."""

    player: int
    starts: dt.datetime
    ends: dt.datetime
    is_marked: bool


def present_in(session: Session) -> list[Stay]:
    """Who is, or was, at the session: whoever was marked on the night, and besides who said that he comes.

    Whoever was neither marked nor replied is left out: the ceiling of the day says whether he is expected.
    """
    replies, taps = replies_of([session]), taps_of([session])
    whole = span_of_session(session)
    stays = []
    for player, _session in sorted(replies.keys() | taps.keys()):
        key = player, session.pk
        span = times_of(session, replies.get(key), taps.get(key, []), whole)
        if span:
            stays.append(Stay(player, *span, is_marked=is_marked(taps.get(key, []))))
    return stays


def is_marked(taps: list[Tap]) -> bool:
    state = state_of(taps)
    return state is not None and state.tap.state != OPEN


def times_of(session: Session, reply: Reply | None, taps: list[Tap], whole: Span) -> Span | None:
    announced = announced_by(session, reply, whole) if reply and reply.coming else None
    return span_of(taps, whole, announced) if is_marked(taps) else announced


def announced_by(session: Session, reply: Reply, whole: Span) -> Span:
    """What he said, within the session."""
    return said_span(session, reply.from_time, reply.until_time, whole)


def said_span(session: Session, from_time: dt.time | None, until_time: dt.time | None, whole: Span) -> Span:
    """From the one time on the wall until the other, within the session."""
    zone = session.zone
    starts = at_wall_time(session.day, from_time, zone) if from_time else whole[0]
    ends = at_wall_time(session.day, until_time, zone) if until_time else whole[1]
    return max(starts, whole[0]), min(ends, whole[1])


def span_of_session(session: Session) -> Span:
    """Its slots, or its length, should be fetched with it."""
    minutes = getattr(session, "minutes", None)
    if minutes is None:
        minutes = sum(slot.minutes for slot in session.slots.all())
    return session.starts_at, session.starts_at + dt.timedelta(minutes=minutes)


def replies_of(sessions: Iterable[Session]) -> dict[Key, Reply]:
    """The newest reply of each player for each session."""
    rows = Reply.objects.filter(session__in=[session.pk for session in sessions]).order_by("said_at", "pk")
    return {(row.player_id, row.session_id): row for row in rows}


def taps_of(sessions: Iterable[Session]) -> dict[Key, list[Tap]]:
    found: dict[Key, list[Tap]] = defaultdict(list)
    for row in Mark.objects.filter(session__in=[session.pk for session in sessions]):
        found[row.player_id, row.session_id].append(row.as_tap())
    return dict(found)


def words_of(sessions: Iterable[Session]) -> dict[Key, Word]:
    """What is known of each player and session beside his absences: the marks on the night, else his newest reply."""
    sessions = list(sessions)
    replies, taps = replies_of(sessions), taps_of(sessions)
    by_key = {session.pk: session for session in sessions}
    known = [key for key in replies | taps if key in replies or is_marked(taps[key])]
    return {key: word_of(by_key[key[1]], replies.get(key), taps.get(key, [])) for key in known}


def word_of(session: Session, reply: Reply | None, taps: list[Tap]) -> Word:
    if is_marked(taps) and state_of(taps).tap.state == AWAY:
        return Word(False, _("not here that night"))
    if not is_marked(taps) and not reply.coming:
        said = date_format(reply.said_at.astimezone(session.squad.club.tzinfo), "j M")
        return Word(False, _("said no on %(day)s") % {"day": said})
    whole = span_of_session(session)
    starts, ends = times_of(session, reply, taps, whole)
    came, goes = (starts if starts > whole[0] else None), (ends if ends < whole[1] else None)
    return Word(True, clock_words(session, came, goes), came, goes)


def clock_words(session: Session, starts: dt.datetime | None, ends: dt.datetime | None) -> str:
    """ "from 19:35", "" for the whole night."""
    if starts is None and ends is None:
        return ""
    zone = session.zone
    return said_words(True, *(moment and moment.astimezone(zone).time() for moment in (starts, ends)))


def misses(word: Word | None, starts: dt.datetime, ends: dt.datetime) -> bool:
    """Whether he is not there for all of a stretch."""
    return word is not None and word.coming and not word.holds(starts, ends)


def slots_missed(session: Session, word: Word | None) -> list[Slot]:
    """Slots of which he does not see all."""
    missed, moment = [], session.starts_at
    for slot in session.slots.all():
        ends = moment + dt.timedelta(minutes=slot.minutes)
        if misses(word, moment, ends):
            missed.append(slot)
        moment = ends
    return missed
