"""The club's patterns, and putting one on a week.

All verbs raise Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from drills.models import Skill
from planner.changes import Refused
from planner.core.calendar import monday_of
from planner.models import Fixture
from planner.pattern_models import FinalMatch, Pattern, WeekFigures, WeekPattern
from planner.totals import LOOK_BACK
from planner.usual_patterns import SOURCE, USUAL
from shared import audit
from shared.models import Club, User
from squads.models import Squad

FIGURES = tuple(field.name for field in WeekFigures._meta.get_fields())


@transaction.atomic
def save_pattern(*, pattern: Pattern, by: User, skills: Iterable[Skill], **fields: Any) -> Pattern:
    """Make a pattern, or change one. Weeks that it is on keep the figures that they have."""
    did = "changed pattern" if pattern.pk else "made pattern"
    for name, value in fields.items():
        setattr(pattern, name, value)
    try:
        with transaction.atomic():
            pattern.save()
    except IntegrityError:
        raise Refused(_("The club has a pattern of that name already. Choose another name.")) from None
    pattern.skills.set(skills)
    figures = {name: str(value) for name in FIGURES if (value := getattr(pattern, name)) not in (None, "")}
    audit.record(pattern.club, did, pattern, by=by, figures=figures)
    return pattern


@transaction.atomic
def retire_pattern(*, pattern: Pattern, by: User, today: dt.date) -> None:
    """It is no longer on offer. Weeks that it is on keep it."""
    pattern.retired_on = today
    pattern.save(update_fields=["retired_on"])
    audit.record(pattern.club, "retired pattern", pattern, by=by)


@transaction.atomic
def bring_pattern_back(*, pattern: Pattern, by: User) -> None:
    pattern.retired_on = None
    pattern.save(update_fields=["retired_on"])
    audit.record(pattern.club, "brought pattern back", pattern, by=by)


@transaction.atomic
def add_usual_patterns(*, club: Club, by: User) -> list[Pattern]:
    """Those of the usual table whose names the club does not have yet, retired ones counted."""
    club = Club.objects.select_for_update(of=("self",)).get(pk=club.pk)
    known = set(club.patterns.values_list("name", flat=True))
    skills = {skill.code: skill for skill in Skill.objects.filter(club=club, retired_on=None)}
    added = []
    for place, usual in enumerate(USUAL):
        if str(usual.name) not in known:
            pattern = Pattern.objects.create(club=club, place=place, source=str(SOURCE), **usual.fields)
            pattern.skills.set(skills[code] for code in usual.skills.split() if code in skills)
            added.append(pattern)
    if added:
        audit.record(club, "added usual patterns", club, by=by, patterns=[pattern.name for pattern in added])
    return added


@transaction.atomic
def put_pattern(*, pattern: Pattern, squad: Squad, monday: dt.date, by: User, today: dt.date) -> WeekPattern:
    """On the squad's week, in place of the one that is there. Its figures are copied; days before today stay as judged.

    It only ever lowers a limit: where the contact rules allow less, they hold.
    """
    monday = monday_of(monday)
    refuse_past_week(monday, today)
    if pattern.club_id != squad.club_id or pattern.retired_on:
        raise Refused(_("%(pattern)s is not on offer any more. Choose another one.") % {"pattern": pattern})
    figures = {name: getattr(pattern, name) for name in FIGURES}
    skills = list(pattern.skills.values_list("code", flat=True))
    more = {"pattern": pattern, "skills": skills, "put_by": by, "holds_from": max(today, monday)}
    row, _made = WeekPattern.objects.update_or_create(squad=squad, monday=monday, defaults=figures | more)
    audit.record(squad.club, "put pattern on week", row, by=by, squad=squad.slug, monday=monday.isoformat())
    return row


@transaction.atomic
def take_pattern_off(*, squad: Squad, monday: dt.date, by: User, today: dt.date) -> None:
    """The week's limits are then those of the contact rules again."""
    refuse_past_week(monday, today)
    row = WeekPattern.objects.filter(squad=squad, monday=monday).first()
    if row is None:
        raise Refused(_("There is no pattern on this week."))
    audit.record(squad.club, "took pattern off week", row, by=by, squad=squad.slug, monday=monday.isoformat())
    row.delete()


def refuse_past_week(monday: dt.date, today: dt.date) -> None:
    if monday + LOOK_BACK < today:
        raise Refused(_("The week of %(day)s is past and stays as it was.") % {"day": date_format(monday, "D j M Y")})


def mark_final(fixture: Fixture, is_final: bool, by: User) -> None:
    """Whether the club counts the match as a final; part of saving the match."""
    if is_final:
        FinalMatch.objects.get_or_create(fixture=fixture, defaults={"marked_by": by})
    else:
        FinalMatch.objects.filter(fixture=fixture).delete()
