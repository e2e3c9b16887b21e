"""Notes that only medical roles read: reasons, symptoms, letters. Nothing here may reach any other page or file.

They are kept apart from every other row and hang on no name of the player's, so that no list, export, print or search
picks them up by accident; `tests/squads/test_secrecy.py` looks for them on every page of every role.
"""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shared.models import Club


class InConfidenceQuerySet(models.QuerySet):
    def of(self, club: Club) -> InConfidenceQuerySet:
        return self.filter(player__squad__club=club)

    def update(self, **values: Any) -> int:
        raise TypeError("what is kept in confidence is never changed: add to it")


class InConfidence(models.Model):
    """A row about one player that is never changed, and of which no word appears where a row is named."""

    player = models.ForeignKey("squads.Player", on_delete=models.CASCADE, related_name="+")

    objects = InConfidenceQuerySet.as_manager()

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"row {self.pk}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("what is kept in confidence is never changed: add to it")
        super().save(*args, **kwargs)


class MedicalNote(InConfidence):
    text = models.TextField(_("note"), max_length=4000)
    written_by = models.CharField(max_length=150)
    written_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-written_at", "-pk"]
        constraints = [models.CheckConstraint(condition=~Q(text=""), name="medical_note_says_something")]


class MedicalConsent(InConfidence):
    """The player, or who speaks for a minor, lets the welfare officer read the notes, or no longer does.

    The newest row counts.
    """

    given = models.BooleanField(_("consent"))
    said_by = models.CharField(_("said by"), max_length=80)
    said_on = models.DateField(_("on"))
    entered_by = models.CharField(max_length=150)
    entered_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-entered_at", "-pk"]
        constraints = [models.CheckConstraint(condition=~Q(said_by=""), name="medical_consent_names_who_gave_it")]


class Ground(models.TextChoices):
    """Why somebody may read the notes of a player."""

    ROLE = "role", _("medical role")
    CONSENT = "consent", _("consent of the player, or of who speaks for a minor")
    SAFEGUARDING = "safeguarding", _("a safeguarding need")


class NoteReading(InConfidence):
    """Somebody opened the notes of a player, on which ground. A safeguarding need is named."""

    reader = models.CharField(max_length=150)
    ground = models.CharField(max_length=12, choices=Ground)
    need = models.CharField(_("need"), max_length=200, blank=True)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(ground__in=Ground.values), name="note_reading_ground_known"),
            models.CheckConstraint(
                condition=~Q(ground=Ground.SAFEGUARDING) | ~Q(need=""), name="note_reading_names_its_need"
            ),
        ]


class MedicalKeeping(models.Model):
    """How long a club keeps medical notes. Without a row nothing is deleted."""

    club = models.OneToOneField(Club, on_delete=models.CASCADE, related_name="+")
    months = models.PositiveSmallIntegerField(_("months that a note is kept"))

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(months__gte=1, months__lte=600), name="medical_keeping_1_to_600_months")
        ]

    def __str__(self) -> str:
        return f"{self.club}: {self.months} months"
