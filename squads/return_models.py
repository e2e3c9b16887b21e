"""A player's return to training: when it began and by which table, and what was entered since.

Entries are only ever added. The dates are reckoned from them (`core.graduated`); none is stored, so none goes stale.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shared.models import Club, User
from squads.core.graduated import Allowed, Course, Event, SymptomFree, Symptoms
from squads.core.union_tables import TABLES, Step


class EntryKind(models.TextChoices):
    STARTED = "started", _("off the field")
    FREE = "free", _("no symptoms at rest from")
    SYMPTOMS = "symptoms", _("symptoms again")
    ALLOWED = "allowed", _("medical entry")
    CLOSED = "closed", _("return closed")


class StepChoice(models.TextChoices):
    """What a player comes back to, as people read it."""

    NON_CONTACT = Step.NON_CONTACT.value, _("non-contact training")
    CONTACT = Step.CONTACT.value, _("contact training")
    MATCH = Step.MATCH.value, _("match")


class ReturnEntryQuerySet(models.QuerySet):
    def of(self, club: Club) -> ReturnEntryQuerySet:
        return self.filter(player__squad__club=club)

    def cases(self) -> ReturnEntryQuerySet:
        """The first entry of each return."""
        return self.filter(kind=EntryKind.STARTED)

    def behind(self, clearances: Iterable[Any]) -> ReturnEntryQuerySet:
        """All entries of the players whom a return took off by one of these; no query where there is none."""
        players = {clearance.player_id for clearance in clearances if clearance.case_id}
        return self.filter(player__in=players) if players else self.none()

    def update(self, **values: Any) -> int:
        raise TypeError("an entry of a return is never changed: add a new one")


class ReturnEntry(models.Model):
    """A return begins with an entry of its own kind, which names the table; the others belong to it.

    `day` is the day of what is told: of the injury, the first without symptoms, the symptoms, the medical decision,
    or the first day after the return is over. `decided_by` stands where a person decided something.
    """

    player = models.ForeignKey("squads.Player", on_delete=models.CASCADE, related_name="return_entries")
    case = models.ForeignKey("self", null=True, on_delete=models.CASCADE, related_name="entries")
    kind = models.CharField(max_length=8, choices=EntryKind)
    day = models.DateField(_("day"))
    table = models.CharField(max_length=30, blank=True)
    step = models.CharField(_("may begin with"), max_length=11, choices=StepChoice, blank=True)
    from_day = models.DateField(_("from"), null=True, blank=True)
    decided_by = models.CharField(_("decided by"), max_length=80, blank=True)
    decided_as = models.CharField(_("as"), max_length=60, blank=True)
    entered_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    entered_at = models.DateTimeField(auto_now_add=True)

    objects = ReturnEntryQuerySet.as_manager()

    class Meta:
        ordering = ["entered_at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=EntryKind.values), name="return_entry_kind_known"),
            models.CheckConstraint(
                condition=Q(kind=EntryKind.STARTED, case__isnull=True, table__in=list(TABLES))
                | (~Q(kind=EntryKind.STARTED) & Q(case__isnull=False, table="")),
                name="return_begins_with_a_table",
            ),
            models.CheckConstraint(
                condition=Q(kind=EntryKind.ALLOWED, step__in=StepChoice.values, from_day__isnull=False)
                | (~Q(kind=EntryKind.ALLOWED) & Q(step="", from_day__isnull=True)),
                name="return_medical_entry_names_step_and_day",
            ),
            models.CheckConstraint(
                condition=~Q(kind__in=[EntryKind.ALLOWED, EntryKind.CLOSED]) | ~Q(decided_by="") & ~Q(decided_as=""),
                name="return_decision_names_who_and_as_what",
            ),
            models.UniqueConstraint(
                fields=["player", "day"], condition=Q(kind=EntryKind.STARTED), name="one_return_for_an_injury"
            ),
            models.UniqueConstraint(
                fields=["case"], condition=Q(kind=EntryKind.CLOSED), name="a_return_is_closed_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}: {self.get_kind_display()} {self.day}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("an entry of a return is never changed: add a new one")
        super().save(*args, **kwargs)

    def as_event(self) -> Event | None:
        """For the arithmetic of dates; None for the entries that begin and close a return."""
        match self.kind:
            case EntryKind.FREE:
                return SymptomFree(self.day)
            case EntryKind.SYMPTOMS:
                return Symptoms(self.day)
            case EntryKind.ALLOWED:
                return Allowed(self.day, Step(self.step), self.from_day, self.decided_by, self.decided_as)
        return None

    @property
    def as_course(self) -> Course:
        """Of the entry that begins a return."""
        return course_of(self, self.entries.all())


def course_of(case: ReturnEntry, entries: Iterable[ReturnEntry]) -> Course:
    entries = list(entries)
    events = tuple(event for entry in entries if (event := entry.as_event()))
    closed = next((entry.day for entry in entries if entry.kind == EntryKind.CLOSED), None)
    return Course(TABLES[case.table], case.day, events, closed)


def courses_of(entries: Iterable[ReturnEntry]) -> list[Course]:
    """The returns of one player, from all his entries in the order in which they were made."""
    entries = list(entries)
    return [
        course_of(case, [entry for entry in entries if entry.case_id == case.pk])
        for case in entries
        if case.kind == EntryKind.STARTED
    ]
