"""Groups of a night that swap stations, as they were settled. Rows are only added; the newest of a night counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from planner.attendance_models import SESSION, AddedTo, AddedToQuerySet
from shared.models import Club, User

if TYPE_CHECKING:
    from planner.models import Session


class SwapQuerySet(AddedToQuerySet):
    def of(self, club: Club) -> SwapQuerySet:
        return self.filter(session__squad__club=club)


class Swap(AddedTo):
    """Which group (keys of its players) is where in which round; without rounds nobody swaps any more.

    Who works at a station in a round stands in the plan as well, so that contact and skills count as they always do.
    Here stands what a plan does not know: which group it is, who is against whom, and who helps with what.
    """

    session = models.ForeignKey(SESSION, on_delete=models.CASCADE, related_name="swaps")
    minutes = models.PositiveSmallIntegerField(_("minutes of a round"), default=0)
    groups = models.JSONField(default=list, blank=True)
    rounds = models.JSONField(default=list, blank=True)
    by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    by_name = models.CharField(max_length=150)
    at = models.DateTimeField(auto_now_add=True)

    objects = SwapQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [models.CheckConstraint(condition=~Q(by_name=""), name="swap_names_who_settled_it")]

    def __str__(self) -> str:
        return f"{self.session}: {len(self.groups)}"

    @property
    def slots(self) -> list[int]:
        """Keys of the slots of its rounds, in order."""
        return [each["slot"] for each in self.rounds]


def swaps_of(sessions: Iterable[Session]) -> Mapping[int, Swap]:
    """Key of the session -> what is settled for it now; in one query."""
    rows = Swap.objects.filter(session__in=[session.pk for session in sessions])
    return {key: swap for key, swap in {row.session_id: row for row in rows}.items() if swap.rounds}
