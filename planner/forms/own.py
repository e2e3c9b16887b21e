"""What a player sends from his own page."""

from __future__ import annotations

from django.http import QueryDict
from django.utils.translation import gettext as _

from planner.attendance_actions import Said
from planner.forms.replies import Entry, Unclear, said_in
from planner.models import Session
from planner.own import own_sessions
from squads.models import Player

LONGEST_KEY = 18  # digits that fit the key of a row


def own_said(given: QueryDict, player: Player) -> Said:
    """The button that was pressed, for one of his own nights. Raises Unclear."""
    session = own_session(given.get("session", ""), player)
    answers = key_in(given.get("answers", ""))
    return said_in(Entry.typed(given, str(session.pk)), player, session, answers)


def own_session(text: str, player: Player) -> Session:
    key = key_in(text)
    found = own_sessions(player).filter(pk=key).first() if key is not None else None
    if found is None:
        raise Unclear(_("This night is not in your calendar any more. Look at the list below."))
    return found


def key_in(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= LONGEST_KEY else None
