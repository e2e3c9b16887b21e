"""Forms of the pages that show what a change of the calendar does before it is saved."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from planner.models import Session
from planner.moving_actions import Fate
from planner.other_days import OtherDay, other_days

LEAVE, CANCEL = "leave", "cancel"


class FatesForm(forms.Form):
    """What becomes of each session on the new match day: left, called off, or moved to a day that is offered."""

    def __init__(
        self, *args: object, sessions: Collection[Session], match_days: Collection[dt.date], today: dt.date, **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        self.sessions = {name_of(session): session for session in sessions}
        for name, session in self.sessions.items():
            offered = other_days(session, match_days, today)
            self.fields[name] = forms.ChoiceField(
                label=_now("Training %(time)s on the match day") % {"time": date_format(session.starts, "D j M, H:i")},
                choices=[(LEAVE, _("leave it")), *map(as_choice, offered), (CANCEL, _("call it off"))],
                widget=forms.RadioSelect,
                required=False,
                initial=LEAVE,
            )

    @property
    def fates(self) -> Iterator[Fate]:
        for name, session in self.sessions.items():
            chosen = self.cleaned_data.get(name) or LEAVE
            if chosen != LEAVE:
                yield Fate(session, None if chosen == CANCEL else dt.date.fromisoformat(chosen))


def name_of(session: Session) -> str:
    return f"fate_{session.pk}"


def as_choice(offer: OtherDay) -> tuple[str, str]:
    words = {"day": date_format(offer.day, "D j M"), "label": offer.label, "allows": offer.allows}
    told = _now("move it to %(day)s (%(label)s): %(allows)s") if offer.label else _now("move it to %(day)s: %(allows)s")
    return offer.day.isoformat(), told % words
