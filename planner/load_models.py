"""What a club chose of its figures of load."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from planner.core.load import Deviation
from planner.record_models import Kept, RecordQuerySet
from shared.models import Club

DEVIATION_CHOICES = [
    (Deviation.POPULATION.value, _("population: the seven days are the whole week")),
    (Deviation.SAMPLE.value, _("sample: the seven days stand for more of their kind")),
]


class DeviationQuerySet(RecordQuerySet):
    def of(self, club: Club) -> DeviationQuerySet:
        return self.filter(club=club)

    def newest_first(self) -> DeviationQuerySet:
        return self.order_by("-at", "-pk")


class DeviationChosen(Kept):
    """Which standard deviation monotony divides by. The newest of a club counts, for all weeks alike, so that two of
    them can be compared; the others say what was shown before."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="deviations_chosen")
    deviation = models.CharField(_("standard deviation"), max_length=10, choices=DEVIATION_CHOICES)
    why = models.CharField(_("why"), max_length=200, blank=True)

    objects = DeviationQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["club", "at"], name="deviation_by_club_and_time")]
        constraints = [
            *Kept.Meta.constraints,
            models.CheckConstraint(
                condition=Q(deviation__in=[each.value for each in Deviation]), name="deviation_chosen_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.club}: {self.deviation}"
