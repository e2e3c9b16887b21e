"""What the columns of a squad's lists hold, as somebody chose it: remembered for the next list."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from planner.columns import NOTHING_CHOSEN, Reading
from shared.models import User
from squads.models import Squad


class ChosenColumnsQuerySet(models.QuerySet):
    def reading_for(self, squad: Squad) -> Reading:
        """What was chosen for the squad; NOTHING_CHOSEN, which fits no table, if nothing was."""
        chosen = self.filter(squad=squad).first()
        return Reading(chosen.columns, chosen.month_first) if chosen else NOTHING_CHOSEN

    def choose(self, squad: Squad, reading: Reading, by: User) -> None:
        chosen = {"columns": dict(reading.columns), "month_first": reading.month_first, "chosen_by": by}
        self.update_or_create(squad=squad, defaults=chosen)


class ChosenColumns(models.Model):
    """`columns`: what a match or a break has (date, opponent; name, first day …) -> the header over it."""

    columns = models.JSONField(_("columns"))
    month_first = models.BooleanField(_("months stand before days"), default=False)
    chosen_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    chosen_at = models.DateTimeField(auto_now=True)

    objects = ChosenColumnsQuerySet.as_manager()

    class Meta:
        abstract = True


class FixtureColumns(ChosenColumns):
    squad = models.OneToOneField(Squad, on_delete=models.CASCADE, related_name="fixture_columns")

    def __str__(self) -> str:
        return str(_("Columns of the fixtures of %(squad)s") % {"squad": self.squad})


class BreakColumns(ChosenColumns):
    squad = models.OneToOneField(Squad, on_delete=models.CASCADE, related_name="break_columns")

    def __str__(self) -> str:
        return str(_("Columns of the breaks of %(squad)s") % {"squad": self.squad})
