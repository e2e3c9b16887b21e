"""Seasons, their nights and the sessions laid out from them; fixtures by hand and by file.

All verbs raise Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import uuid
from collections.abc import Collection, Iterable, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

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
from shared.preview import Outdated, Preview, State
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
    was: str | None = None,
    **fields: Any,
) -> Season:
    """Make a season, or change one. Phases and breaks become exactly those given; None leaves them alone.

    `was`: the digest of the season that the person saw; Refused if somebody else has made it another one since.
    """
    did = "changed season" if season.pk else "made season"
    before = held_season(season) if season.pk else None
    for name, value in fields.items():
        setattr(season, name, value)
    if before and was is not None and digest_of_season(before) not in (was, digest_of_season(season, phases)):
        raise Refused(
            _("Somebody has changed this season since you opened it. Nothing was written: open it again, and look.")
        )
    refuse_season(season)
    save_or_refuse(season, _("The squad has a season of that name already. Choose another name."))
    for model, given in ((Phase, phases), (Break, breaks)):
        if given is not None:
            replace_days(season, model, given)
    refuse_breaks_left_out(season)
    if before:
        refuse_sessions_left_out(season, before)
    days = f"{season.first_day} to {season.last_day}"
    audit.record(season.squad.club, did, season, by=by, squad=season.squad.slug, days=days)
    return season


def held_season(season: Season) -> Season:
    """As it stands now, and nobody else changing this calendar until the transaction ends."""
    take_turn(season.squad)
    return Season.objects.get(pk=season.pk)


def refuse_season(season: Season) -> None:
    if not season.first_day < season.last_day <= season.first_day + LONGEST_SEASON:
        raise Refused(_("A season ends after it begins, and within two years. Check its first and last day."))
    days = Stretch(season.first_day, season.last_day)
    for other in Season.objects.filter(squad=season.squad).exclude(pk=season.pk):
        if days.meets(Stretch(other.first_day, other.last_day)):
            raise Refused(
                _("These days meet the season %(other)s (%(first)s to %(last)s). A day belongs to one season.")
                % {"other": other, **days_told(other)}
            )


def days_told(row: Season | Break) -> dict[str, str]:
    """ "first" and "last" for a sentence."""
    first, last = (date_format(day, "j M Y") for day in (row.first_day, row.last_day))
    return {"first": first, "last": last}


def digest_of_season(season: Season, phases: Sequence[NamedDays] | None = None) -> str:
    """Tells whether a season is still what somebody saw: its name, days and phases (those given, else its own)."""
    if phases is None:
        phases = [NamedDays(each.name, each.first_day, each.last_day) for each in season.phases.all()]
    spans = sorted((each.first, each.last, each.name) for each in phases)
    held = repr((season.name, season.first_day, season.last_day, spans))
    return hashlib.sha256(held.encode()).hexdigest()[:16]


def refuse_breaks_left_out(season: Season) -> None:
    for gap in season.breaks.all():
        if not season.first_day <= gap.first_day <= gap.last_day <= season.last_day:
            raise Refused(
                _(
                    "The break “%(name)s” (%(first)s to %(last)s) would lie outside the season. Change it or take it "
                    "out first."
                )
                % {"name": gap, **days_told(gap)}
            )


def refuse_sessions_left_out(season: Season, before: Season) -> None:
    """A session that was laid out from a season would otherwise stand in none, and on no page of a season."""
    laid_out = Session.objects.filter(night__season=season, cancelled=False, day__range=span(before)).order_by("day")
    days = list(laid_out.exclude(day__range=span(season)).values_list("day", flat=True))
    if days:
        text = ngettext(
            "%(count)d session of its nights lies outside these days (%(first)s). Choose days that hold it; if it is "
            "not to take place, call it off or end its night first.",
            "%(count)d sessions of its nights lie outside these days (%(first)s to %(last)s). Choose days that hold "
            "them; if they are not to take place, call them off or end their nights first.",
            len(days),
        )
        first, last = (date_format(day, "j M Y") for day in (days[0], days[-1]))
        raise Refused(text % {"count": len(days), "first": first, "last": last})


def span(season: Season) -> tuple[dt.date, dt.date]:
    return season.first_day, season.last_day


def replace_days(season: Season, model: type[Phase] | type[Break], given: Sequence[NamedDays]) -> None:
    for days in given:
        if not season.first_day <= days.first <= days.last <= season.last_day:
            raise Refused(
                _("“%(name)s” must end after it begins, and lie within the season (%(first)s to %(last)s).")
                % {"name": days.name, **days_told(season)}
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
    take_turn(night.season.squad)
    refuse_running(night)
    refuse_twin(night)
    night.save()
    audit.record(night.season.squad.club, did, night, by=by, season=str(night.season), template=night.template)
    return night


def refuse_running(night: TrainingNight) -> None:
    season, days = night.season, [day for day in (night.first_day, night.last_day) if day]
    if not all(season.first_day <= day <= season.last_day for day in days) or days != sorted(days):
        raise Refused(
            _("The night runs within its season (%(first)s to %(last)s), and ends after it begins.") % days_told(season)
        )


def refuse_twin(night: TrainingNight) -> None:
    """Of two nights at the same time one would have no session; a form that is sent twice makes one night."""
    season, days = night.season, night.days_in(night.season)
    for other in season.nights.filter(weekday=night.weekday, starts=night.starts).exclude(pk=night.pk):
        if days.meets(other.days_in(season)):
            raise Refused(
                _("The season has a night on %(night)s already. Change that one, or choose another time or other days.")
                % {"night": other}
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
    did = "changed fixture" if fixture.pk else "added fixture"
    before = {name: str(getattr(fixture, name)) for name in fields} if fixture.pk else {}
    for name, value in fields.items():
        setattr(fixture, name, value)
    take_turn(fixture.squad)
    if not fixture.pk:
        refuse_second(fixture)
    fixture.uid = fixture.uid or uuid.uuid4().hex  # random, as RFC 7986 asks
    with loads_follow(fixture.squad, Fixture.objects.filter(pk=fixture.pk)) if fixture.pk else nullcontext():
        fixture.save()
    changed = {name: str(value) for name, value in fields.items() if before.get(name) != str(value)}
    audit.record(fixture.squad.club, did, fixture, by=by, squad=fixture.squad.slug, changed=changed)
    return fixture


def refuse_second(fixture: Fixture) -> None:
    """A form that is sent twice makes one match."""
    same = Fixture.objects.filter(squad=fixture.squad, kick_off=fixture.kick_off, opponent__iexact=fixture.opponent)
    if same.exclude(pk=fixture.pk).exists():
        raise Refused(
            _("The match against %(opponent)s at that time stands in the calendar already.")
            % {"opponent": fixture.opponent}
        )


@transaction.atomic
def import_fixtures(
    *,
    squad: Squad,
    content: bytes,
    filename: str,
    by: User | str,
    moved: Collection[str] = (),
    seen: str | None = None,
) -> Preview:
    """Write all that the file holds and can be taken, or nothing. Raises Unreadable.

    `moved`: UIDs of known matches to be taken for the ones that the file gives another day.

    The file is compared again here, under a lock; Outdated if that gives other lines than the person saw (`seen`, the
    fingerprint of the preview).
    """
    squad = take_turn(squad)
    found = fixtures_in(squad, content, filename, moved)
    if seen is not None and seen != found.preview.fingerprint:
        raise Outdated(found.preview)
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
