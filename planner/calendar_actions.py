"""Seasons, their nights and the sessions laid out from them; fixtures by hand and by file.

All verbs raise Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Collection, Iterable, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.column_models import FixtureColumns
from planner.columns import Reading
from planner.core.calendar import Stretch
from planner.core.laying_out import PatternDay
from planner.imports import FIELDS, fixtures_in
from planner.laying_out import Layout
from planner.models import Break, Fixture, Phase, Season, Session, Slot, TrainingNight
from planner.night_models import LayingOut
from planner.rpe_days import loads_follow
from planner.slot_plans import SlotPlan, plans_in, template_of
from planner.turns import take_turn
from shared import audit
from shared.models import User
from shared.preview import Preview, State
from squads.models import Squad

LONGEST_SEASON = dt.timedelta(days=731)
# What a session takes over from its night.
OF_THE_NIGHT = ("where", "pitch", "width", "length", "coaches", "stations", "lights_until", "kit")


@dataclass(frozen=True, slots=True)
class NamedDays:
    """A phase or a break: a name for days from first to last."""

    name: str
    first: dt.date
    last: dt.date


# Seasons


@transaction.atomic
def save_season(
    *,
    season: Season,
    by: User,
    phases: Sequence[NamedDays] | None = None,
    breaks: Sequence[NamedDays] | None = None,
    **fields: Any,
) -> Season:
    """Make a season, or change one. Phases and breaks become exactly those given; None leaves them alone."""
    did = "changed season" if season.pk else "made season"
    for name, value in fields.items():
        setattr(season, name, value)
    refuse_season(season)
    save_or_refuse(season, _("The squad has a season of that name already. Choose another name."))
    for model, given in ((Phase, phases), (Break, breaks)):
        if given is not None:
            replace_days(season, model, given)
    refuse_breaks_left_out(season)
    days = f"{season.first_day} to {season.last_day}"
    audit.record(season.squad.club, did, season, by=by, squad=season.squad.slug, days=days)
    return season


def refuse_season(season: Season) -> None:
    if not season.first_day < season.last_day <= season.first_day + LONGEST_SEASON:
        raise Refused(_("A season ends after it begins, and within two years. Check its first and last day."))
    days = Stretch(season.first_day, season.last_day)
    for other in Season.objects.filter(squad=season.squad).exclude(pk=season.pk):
        if days.meets(Stretch(other.first_day, other.last_day)):
            raise Refused(
                _("These days meet the season %(other)s (%(first)s to %(last)s). A day belongs to one season.")
                % {"other": other, "first": other.first_day, "last": other.last_day}
            )


def refuse_breaks_left_out(season: Season) -> None:
    for gap in season.breaks.all():
        if not season.first_day <= gap.first_day <= gap.last_day <= season.last_day:
            raise Refused(
                _(
                    "The break “%(name)s” (%(first)s to %(last)s) would lie outside the season. Change it or take it "
                    "out first."
                )
                % {"name": gap, "first": gap.first_day, "last": gap.last_day}
            )


def replace_days(season: Season, model: type[Phase] | type[Break], given: Sequence[NamedDays]) -> None:
    for days in given:
        if not season.first_day <= days.first <= days.last <= season.last_day:
            raise Refused(
                _("“%(name)s” must end after it begins, and lie within the season (%(first)s to %(last)s).")
                % {"name": days.name, "first": season.first_day, "last": season.last_day}
            )
    model.objects.filter(season=season).delete()
    model.objects.bulk_create(
        model(season=season, name=days.name, first_day=days.first, last_day=days.last) for days in given
    )


# Nights


@transaction.atomic
def save_night(*, night: TrainingNight, slots: Iterable[SlotPlan], by: User, **fields: Any) -> TrainingNight:
    """Add a night to its season, or change one. Sessions that are laid out already stay as they are."""
    did = "changed night" if night.pk else "added night"
    for name, value in fields.items():
        setattr(night, name, value)
    night.template = template_of(slots)
    refuse_running(night)
    night.save()
    audit.record(night.season.squad.club, did, night, by=by, season=str(night.season), template=night.template)
    return night


def refuse_running(night: TrainingNight) -> None:
    season, days = night.season, [day for day in (night.first_day, night.last_day) if day]
    if not all(season.first_day <= day <= season.last_day for day in days) or days != sorted(days):
        raise Refused(
            _("The night runs within its season (%(first)s to %(last)s), and ends after it begins.")
            % {"first": season.first_day, "last": season.last_day}
        )


@transaction.atomic
def remove_night(*, night: TrainingNight, by: User) -> None:
    """No more sessions will be laid out from it; those that are stay."""
    audit.record(night.season.squad.club, "removed night", night, by=by, season=str(night.season))
    night.delete()


@transaction.atomic
def lay_out(*, season: Season, by: User, today: dt.date, seen: str | None = None) -> list[Session]:
    """Sessions for every night of the season from today on that has none yet; gives back the new ones.

    A night has its session of a week as soon as one was laid out from it for that week, wherever it was moved
    to and even if it was cancelled. So running twice adds nothing, and nothing that exists is touched.
    `seen`: the digest of the layout that the person saw; Refused if it would be another one by now.
    """
    squad = take_turn(season.squad)
    season = Season.objects.select_related("squad__club").get(pk=season.pk)
    layout = Layout.of(season, today)
    if seen is not None and seen != layout.digest:
        raise Refused(_("The season has changed since you opened this page. Nothing was made: look through it again."))
    new = [session_on(each, layout.nights[each.night], squad) for each in layout.new]
    Session.objects.bulk_create(new)
    Slot.objects.bulk_create(slot for session in new for slot in slots_from(session.night, session))
    if new:
        audit.record(squad.club, "laid out sessions", season, by=by, squad=squad.slug, sessions=len(new))
    return new


@transaction.atomic
def rest_on_match_days(*, season: Season, rests: bool, by: User) -> None:
    """Whether laying out leaves out the days of matches. What is laid out already stays."""
    LayingOut.objects.update_or_create(season=season, defaults={"rests_on_match_days": rests})
    audit.record(season.squad.club, "chose match days", season, by=by, rests=rests)


def session_on(each: PatternDay, night: TrainingNight, squad: Squad) -> Session:
    taken_over = {name: getattr(night, name) for name in OF_THE_NIGHT}
    moment = each.starts_at
    return Session(squad=squad, night=night, pattern_day=each.day, starts_at=moment, day=each.day, **taken_over)


def slots_from(night: TrainingNight, session: Session) -> list[Slot]:
    return [plan.slot_in(session, order) for order, plan in enumerate(plans_in(night.template))]


# Fixtures


@transaction.atomic
def save_fixture(*, fixture: Fixture, by: User, **fields: Any) -> Fixture:
    """Add a match by hand, or change one: also its day, and whether it is postponed or cancelled."""
    if fixture.pk:
        take_turn(fixture.squad)
    did = "changed fixture" if fixture.pk else "added fixture"
    before = {name: str(getattr(fixture, name)) for name in fields} if fixture.pk else {}
    for name, value in fields.items():
        setattr(fixture, name, value)
    fixture.uid = fixture.uid or uuid.uuid4().hex  # random, as RFC 7986 asks
    with loads_follow(fixture.squad, Fixture.objects.filter(pk=fixture.pk)) if fixture.pk else nullcontext():
        fixture.save()
    changed = {name: str(value) for name, value in fields.items() if before.get(name) != str(value)}
    audit.record(fixture.squad.club, did, fixture, by=by, squad=fixture.squad.slug, changed=changed)
    return fixture


@transaction.atomic
def import_fixtures(
    *, squad: Squad, content: bytes, filename: str, by: User | str, moved: Collection[str] = ()
) -> Preview:
    """Write all that the file holds and can be taken, or nothing. Raises Unreadable.

    `moved`: UIDs of known matches to be taken for the ones that the file gives another day.

    The file is compared again here, under a lock: what a page showed before may be out of date.
    """
    squad = take_turn(squad)
    found = fixtures_in(squad, content, filename, moved)
    Fixture.objects.bulk_create(found.new)
    with loads_follow(squad, Fixture.objects.filter(pk__in=[fixture.pk for fixture in found.changed])):
        Fixture.objects.bulk_update(found.changed, [*FIELDS, "day"])
    if not found.preview.nothing_to_do:
        counts = {str(state): found.preview.count(state) for state in State}
        audit.record(squad.club, "imported fixtures", squad, by=by, file=filename[:200], **counts)
    return found.preview


@transaction.atomic
def choose_columns(*, squad: Squad, reading: Reading, by: User) -> None:
    """What the columns of the squad's lists hold, for this list and the next with such headers."""
    FixtureColumns.objects.all().choose(squad, reading, by)
    audit.record(squad.club, "chose columns of fixtures", squad, by=by, columns=dict(reading.columns))


def save_or_refuse(row: Season | Session, otherwise: str) -> None:
    """Save, or refuse in words what the database refuses because another row holds the place."""
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:
        raise Refused(otherwise) from None
