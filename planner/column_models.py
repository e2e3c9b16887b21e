"""What the columns of a squad's lists of matches hold, as somebody chose it: remembered for the next list."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from planner.fixture_files.columns import NOTHING_CHOSEN, Reading
from shared.models import User
from squads.models import Squad


class FixtureColumnsQuerySet(models.QuerySet):
    def reading_for(self, squad: Squad) -> Reading:
        """What was chosen for the squad; NOTHING_CHOSEN, which fits no table, if nothing was."""
        chosen = self.filter(squad=squad).first()
        return Reading(chosen.columns, chosen.month_first) if chosen else NOTHING_CHOSEN


class FixtureColumns(models.Model):
    """`columns`: what a match has (date, opponent …) -> the header over it."""

    squad = models.OneToOneField(Squad, on_delete=models.CASCADE, related_name="fixture_columns")
    columns = models.JSONField(_("columns"))
    month_first = models.BooleanField(_("months stand before days"), default=False)
    chosen_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    chosen_at = models.DateTimeField(auto_now=True)

    objects = FixtureColumnsQuerySet.as_manager()

    def __str__(self) -> str:
        return str(_("Columns of the fixtures of %(squad)s") % {"squad": self.squad})
