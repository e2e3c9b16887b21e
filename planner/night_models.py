"""From when until when a night of a season runs, what laying out a season goes by, sessions that fell out, and who
stands at a station."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models
from django.db.models import F, Q
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _

from planner.core.calendar import Stretch

if TYPE_CHECKING:
    from planner.models import Season


class Running(models.Model):
    """Something of a season that may run for a part of it only."""

    first_day = models.DateField(_("from"), null=True, blank=True)
    last_day = models.DateField(_("until"), null=True, blank=True)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=Q(first_day__isnull=True) | Q(last_day__isnull=True) | Q(last_day__gte=F("first_day")),
                name="%(class)s_ends_after_it_starts",
            )
        ]

    def days_in(self, season: Season) -> Stretch:
        """Its days within the season; none if the last lies before the first."""
        first, last = self.first_day or season.first_day, self.last_day or season.last_day
        return Stretch(max(first, season.first_day), min(last, season.last_day))


class LayingOut(models.Model):
    """What laying out a season goes by: where public holidays are taken from, and whether match days are free."""

    season = models.OneToOneField("planner.Season", on_delete=models.CASCADE, related_name="laying_out")
    country = models.CharField(_("country"), max_length=2, blank=True)
    region = models.CharField(_("region"), max_length=40, blank=True)
    rests_on_match_days = models.BooleanField(_("no training on match days"), default=False)

    def __str__(self) -> str:
        return " ".join(filter(None, (self.country, self.region)))


class FellOut(models.Model):
    """A session that was called off because its day is in a break.

    If it takes place all the same, somebody put it back, and the break leaves it alone.
    """

    session = models.OneToOneField("planner.Session", on_delete=models.CASCADE, related_name="fell_out")
    why = models.CharField(max_length=60)

    def __str__(self) -> str:
        return self.why


class Stood:
    """Of a station: its letter on paper, and who stands there."""

    order: int
    places: models.Manager

    @property
    def letter(self) -> str:
        return "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[self.order % 26]

    @cached_property
    def standing(self) -> tuple[int, ...]:
        """Keys of the players, in the order of positions; `planner.programme.fetch_programme` fetches those of many."""
        return tuple(place.player_id for place in self.places.all())
