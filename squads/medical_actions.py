"""Writing, reading and deleting what only medical roles may know. Each of these is in the confidential audit chain,
which holds who, when and of whom, and no word of a note."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Sequence

from django.db import transaction
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_variables

from shared import audit
from shared.clock import today_at
from shared.models import Club, User
from squads.actions import Refused
from squads.medical_models import Ground, MedicalConsent, MedicalKeeping, MedicalNote, NoteReading
from squads.models import Player
from squads.return_models import ReturnEntry, courses_of


@sensitive_variables("text")
@transaction.atomic
def write_note(*, player: Player, text: str, by: User) -> MedicalNote:
    note = MedicalNote.objects.create(player=player, text=text, written_by=str(by)[:150])
    audit.record_in_confidence(player.squad.club, "wrote a note", player, by=by, player=player.pk)
    return note


@transaction.atomic
def record_consent(*, player: Player, given: bool, said_by: str, said_on: dt.date, by: User) -> MedicalConsent:
    """The player, or who speaks for a minor, lets the welfare officer read the notes, or takes that back."""
    if said_on > today_at(player.squad.club):
        raise Refused(_("This day is still to come. Check the date."))
    consent = MedicalConsent.objects.create(
        player=player, given=given, said_by=said_by, said_on=said_on, entered_by=str(by)[:150]
    )
    did = "recorded consent" if given else "recorded that consent ended"
    audit.record_in_confidence(player.squad.club, did, player, by=by, player=player.pk)
    return consent


def consent_of(player: Player) -> MedicalConsent | None:
    """The consent that stands, if there is one."""
    newest = MedicalConsent.objects.filter(player=player).first()
    return newest if newest and newest.given else None


@transaction.atomic
def read_notes(*, player: Player, ground: str, by: User, need: str = "") -> Sequence[MedicalNote]:
    """The notes of a player, the newest first; that they were opened stays on record, also where there are none."""
    if ground == Ground.CONSENT and consent_of(player) is None:
        raise Refused(_("No consent stands. A medical role records it, from the player or who speaks for a minor."))
    if ground == Ground.SAFEGUARDING and not need.strip():
        raise Refused(_("Name the safeguarding need."))
    NoteReading.objects.create(player=player, reader=str(by)[:150], ground=ground, need=need.strip())
    audit.record_in_confidence(player.squad.club, "read the notes", player, by=by, player=player.pk, ground=ground)
    return list(MedicalNote.objects.filter(player=player))


@transaction.atomic
def keep_notes_for(*, club: Club, months: int, by: User) -> None:
    MedicalKeeping.objects.update_or_create(club=club, defaults={"months": months})
    audit.record_in_confidence(club, "chose how long notes are kept", club, by=by, months=months)


def months_before(day: dt.date, months: int) -> dt.date:
    """The same day of the month so many months before, or the last one that the month has."""
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    return dt.date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


@transaction.atomic
def delete_old_notes(*, club: Club, today: dt.date, by: User | str, confirm: bool) -> int | None:
    """How many notes are older than the club keeps them; deleted if `confirm`. None: the club has set no time.

    The notes of a player whose return is under way stay until it is closed. What was noted of readings that old, with
    the needs that were named, goes too; the audit chain keeps that they took place.
    """
    keeping = MedicalKeeping.objects.filter(club=club).first()
    if keeping is None:
        return None
    last = months_before(today, keeping.months)
    old = MedicalNote.objects.of(club).filter(written_at__date__lt=last).exclude(player__in=under_way(club))
    count = old.count()
    if confirm:
        old.delete()
        NoteReading.objects.of(club).filter(at__date__lt=last).delete()
        if count:
            audit.record_in_confidence(club, "deleted old notes", club, by=by, notes=count)
    return count


def under_way(club: Club) -> set[int]:
    """Keys of the players with a return that is not closed."""
    entries: dict[int, list[ReturnEntry]] = {}
    for entry in ReturnEntry.objects.of(club):
        entries.setdefault(entry.player_id, []).append(entry)
    return {player for player, rows in entries.items() if any(course.closed is None for course in courses_of(rows))}
