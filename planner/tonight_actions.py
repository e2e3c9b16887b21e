"""What people say of a night as they find it on the field."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.models import Session
from planner.tonight_models import OF_SESSION, Found
from shared import audit
from shared.clock import today_at
from shared.models import User


@transaction.atomic
def say_what_is_found(
    *, session: Session, by: User, helpers: int = 0, today: dt.date | None = None, **values: Any
) -> Found | None:
    """The night holds these values from now on (fields of the session); None where that is nothing new.

    Raises Refused unless it is the night's own day.
    """
    refuse_other_days(session, today)
    held = Session.objects.select_for_update(of=("self",)).get(pk=session.pk)
    was = {name: getattr(held, name) for name in OF_SESSION}
    wanted = was | values
    if wanted == was and helpers == helpers_of(held):
        return None
    row = Found.objects.create(
        session=held,
        helpers=helpers,
        was=as_json(was),
        by=by,
        by_name=str(by)[:150],
        **{OF_SESSION[name]: value for name, value in wanted.items()},
    )
    for name, value in wanted.items():
        setattr(held, name, value)
    held.plan_version += 1
    held.save(update_fields=[*wanted, "plan_version"])
    changed = {name: value for name, value in as_json(wanted).items() if value != as_json(was)[name]}
    audit.record(session.squad.club, "said what is found", session, by=by, helpers=helpers, **changed)
    return row


def refuse_other_days(session: Session, today: dt.date | None) -> None:
    if session.cancelled:
        raise Refused(_("%(session)s does not take place.") % {"session": session})
    if session.day != (today or today_at(session.squad.club)):
        raise Refused(
            _("This is for the day of the night itself. On another day, change %(session)s in the calendar.")
            % {"session": session}
        )


def helpers_of(session: Session) -> int:
    last = session.found.last()
    return last.helpers if last else 0


def as_json(values: Mapping[str, Any]) -> dict[str, Any]:
    """A time as it is written; everything else as it is."""
    return {name: f"{value:%H:%M}" if isinstance(value, dt.time) else value for name, value in values.items()}
