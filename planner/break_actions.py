"""Changing the breaks of a season together with the sessions that they call off or bring back.

All verbs raise Refused, with sentences for the person who asked, when nothing was written. What is past, recorded,
marked or locked never changes; what somebody called off or put back by hand stays so.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from django.db import transaction
from django.utils.translation import gettext as _

from planner.break_imports import breaks_in
from planner.breaks import BreaksPlan, digest, digest_of, refuse_breaks, told
from planner.changes import Refused
from planner.column_models import BreakColumns
from planner.columns import Reading
from planner.core.laying_out import Break
from planner.falling_out import write as write_falling_out
from planner.models import Break as BreakRow
from planner.models import Season
from planner.moved_told import Effects, effects_of
from planner.moving import what_if
from planner.night_models import LayingOut
from planner.public_holidays import refuse_place
from planner.turns import take_turn
from shared import audit
from shared.models import User
from shared.preview import Preview
from squads.models import Squad


@transaction.atomic
def look_ahead(
    *, season: Season, wanted: Sequence[Break], by: User, today: dt.date, was: str | None = None
) -> tuple[BreaksPlan, Effects]:
    """What these breaks would do, tried and taken back. Refused as by change_breaks."""
    plan = planned(season, wanted, today, was)
    return plan, effects_of(what_if(plan.season.squad, plan.days, lambda: write(plan, by), today))


@transaction.atomic
def change_breaks(
    *,
    season: Season,
    wanted: Sequence[Break],
    by: User,
    today: dt.date,
    was: str | None = None,
    seen: str | None = None,
) -> BreaksPlan:
    """The season's breaks become exactly these. Refused where the breaks (`was`, their digest) or what becomes of the
    sessions (`seen`, the digest of the plan) is not what the person saw."""
    plan = planned(season, wanted, today, was)
    if seen is not None and seen != plan.digest:
        raise Refused(_("A session has changed since you saw this. Nothing was written: look through it again."))
    write(plan, by)
    return plan


def planned(season: Season, wanted: Sequence[Break], today: dt.date, was: str | None) -> BreaksPlan:
    season = held(season)
    if was is not None and digest_of(season) != was:
        raise Refused(
            _(
                "Somebody has changed the breaks since you opened this page. Nothing was written: look at what you see "
                "here, then try again."
            )
        )
    refuse_breaks(season, wanted)
    return BreaksPlan.of(season, wanted, today)


def held(season: Season) -> Season:
    """As it stands now, and nobody else changing this calendar until the transaction ends."""
    take_turn(season.squad)
    return Season.objects.select_related("squad__club").get(pk=season.pk)


def write(plan: BreaksPlan, by: User) -> None:
    kept = {gap.key for gap in plan.wanted}
    gone = [gap for gap in plan.known if gap.key not in kept]
    changed = [gap for gap in plan.wanted if gap.key is not None and gap not in plan.known]
    new = [gap for gap in plan.wanted if gap.key is None]
    BreakRow.objects.filter(pk__in=[gap.key for gap in gone]).delete()
    BreakRow.objects.bulk_update(
        [row_of(gap, plan.season) for gap in changed], ["name", "first_day", "last_day", "uid"]
    )
    BreakRow.objects.bulk_create(row_of(gap, plan.season) for gap in new)
    write_falling_out(plan.falling)
    if gone or changed or new:
        audit.record(
            plan.season.squad.club,
            "changed breaks",
            plan.season,
            by=by,
            gone=list(map(told, gone)),
            changed=list(map(told, changed)),
            new=list(map(told, new)),
            called_off=[session.pk for session, _why in plan.falling.falls],
            back=[session.pk for session in plan.falling.returns],
        )


def row_of(gap: Break, season: Season) -> BreakRow:
    days = {"first_day": gap.days.first, "last_day": gap.days.last}
    return BreakRow(pk=gap.key, season=season, name=gap.name, uid=gap.uid, **days)


@transaction.atomic
def import_breaks(
    *, season: Season, content: bytes, filename: str, by: User, today: dt.date, seen: str | None = None
) -> Preview:
    """Write all that the lines or the file hold and can be taken, or nothing. Raises Unreadable, or Refused.

    They are compared again here, under a lock; `seen`: what a page showed of it (look_at_import).
    """
    season = held(season)
    found = breaks_in(season, content, filename)
    plan = planned(season, found.wanted, today, None)
    if seen is not None and seen != digest((found.preview.fingerprint, plan.digest)):
        raise Refused(_("The season has changed since this preview. Nothing was written: look through it again."))
    write(plan, by)
    return found.preview


@transaction.atomic
def look_at_import(
    *, season: Season, content: bytes, filename: str, by: User, today: dt.date
) -> tuple[Preview, BreaksPlan, Effects, str]:
    """What import_breaks would do, tried and taken back, and the digest of it."""
    season = held(season)
    found = breaks_in(season, content, filename)
    plan, effects = look_ahead(season=season, wanted=found.wanted, by=by, today=today)
    return found.preview, plan, effects, digest((found.preview.fingerprint, plan.digest))


@transaction.atomic
def choose_break_columns(*, squad: Squad, reading: Reading, by: User) -> None:
    """What the columns of the squad's lists of breaks hold, for this list and the next with such headers."""
    BreakColumns.objects.all().choose(squad, reading, by)
    audit.record(squad.club, "chose columns of breaks", squad, by=by, columns=dict(reading.columns))


@transaction.atomic
def choose_holidays(*, season: Season, country: str, region: str, by: User) -> None:
    """Whose public holidays the season offers; no break changes by that."""
    refuse_place(country, region)
    LayingOut.objects.update_or_create(season=season, defaults={"country": country, "region": region})
    audit.record(season.squad.club, "chose holidays", season, by=by, country=country, region=region)
