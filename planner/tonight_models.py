"""A night as it is found: coaches, grass, light and kit that differ from what was planned.

Rows are only ever added; the newest counts, and the session itself holds the same from then on.
"""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from planner.attendance_models import SESSION, AddedTo, AddedToQuerySet
from shared.models import Club, User


class FoundQuerySet(AddedToQuerySet):
    def of(self, club: Club) -> FoundQuerySet:
        return self.filter(session__squad__club=club)


class Found(AddedTo):
    """What somebody found on the night. `adults` may run a station, `helpers` under 18 may not.

    `names` are adults who are here by name; `kit` holds the pieces of what is counted. `was` is what the session held
    before, so that the first row of a night tells what had been planned.
    """

    session = models.ForeignKey(SESSION, on_delete=models.CASCADE, related_name="found")
    adults = models.PositiveSmallIntegerField(_("adult coaches here"))
    helpers = models.PositiveSmallIntegerField(_("helpers under 18"), default=0)
    names = models.JSONField(default=list, blank=True)
    stations = models.PositiveSmallIntegerField(_("stations at once"))
    width = models.PositiveSmallIntegerField(_("width, m"))
    length = models.PositiveSmallIntegerField(_("length, m"))
    lights_until = models.TimeField(_("light until"), null=True, blank=True)
    kit = models.JSONField(default=dict, blank=True)
    was = models.JSONField(default=dict)
    by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    by_name = models.CharField(max_length=150)
    at = models.DateTimeField(auto_now_add=True)

    objects = FoundQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(by_name=""), name="found_names_who_said_it"),
            models.CheckConstraint(condition=Q(width__gte=1, length__gte=1), name="found_some_grass"),
        ]

    def __str__(self) -> str:
        return f"{self.session}: {self.by_name}"

    @property
    def values(self) -> dict[str, Any]:
        """By the names that the session has for them."""
        return {field: getattr(self, mine) for field, mine in OF_SESSION.items()}


# Field of a session -> that of what was found.
OF_SESSION = {
    "coaches": "adults",
    "coach_names": "names",
    "stations": "stations",
    "width": "width",
    "length": "length",
    "lights_until": "lights_until",
    "kit": "kit",
}
