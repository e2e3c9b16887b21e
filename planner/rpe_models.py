"""How hard a night or a match was for a player, as he said it: one number of Foster's scale."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from planner.attendance_models import SESSION
from planner.core.record import LONGEST
from planner.core.rpe import HIGHEST
from planner.record_models import Kept, RecordQuerySet
from shared.models import Club
from squads.models import Player


class RpeQuerySet(RecordQuerySet):
    def of(self, club: Club) -> RpeQuerySet:
        return self.filter(player__squad__club=club)


class Rpe(Kept):
    """One answer; the newest of a player for a night or a match counts. `number` None: what was said is taken back.

    `minutes` where somebody said for how long; empty: as long as the record of the night, or of the match, says.
    `said_by` told it, `by_name` entered it; `himself`: both are the player, on his own page. There is no column for a
    reason.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="rpes")
    session = models.ForeignKey(SESSION, null=True, on_delete=models.CASCADE, related_name="rpes")
    fixture = models.ForeignKey("planner.Fixture", null=True, on_delete=models.RESTRICT, related_name="rpes")
    number = models.PositiveSmallIntegerField(_("RPE"), null=True)
    minutes = models.PositiveSmallIntegerField(_("minutes"), null=True)
    said_by = models.CharField(_("told by"), max_length=120)
    himself = models.BooleanField(_("on his own page"), default=False)

    objects = RpeQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [
            models.Index(fields=["session", "player"], name="rpe_by_session_and_player"),
            models.Index(fields=["fixture", "player"], name="rpe_by_fixture_and_player"),
        ]
        constraints = [
            *Kept.Meta.constraints,
            models.CheckConstraint(
                condition=Q(session__isnull=False, fixture__isnull=True)
                | Q(session__isnull=True, fixture__isnull=False),
                name="rpe_of_one_night_or_one_match",
            ),
            models.CheckConstraint(condition=Q(number__isnull=True) | Q(number__lte=HIGHEST), name="rpe_0_to_10"),
            models.CheckConstraint(
                condition=Q(minutes__isnull=True) | Q(minutes__gte=1, minutes__lte=LONGEST),
                name="rpe_minutes_of_one_go",
            ),
            models.CheckConstraint(
                condition=Q(number__isnull=False) | Q(minutes__isnull=True), name="rpe_taken_back_has_no_minutes"
            ),
            models.CheckConstraint(condition=~Q(said_by=""), name="rpe_names_who_said_it"),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.session or self.fixture}: {self.number}"

    @property
    def occasion(self) -> str:
        """The name of the night or the match: "s12", "f7"."""
        return occasion_name(self.session_id, self.fixture_id)


def occasion_name(session: int | None, fixture: int | None) -> str:
    return f"s{session}" if session else f"f{fixture}"


def newest(rows: Iterable[Rpe]) -> dict[tuple[int, str], Rpe]:
    """By player and occasion what was said last, in whatever order the rows come."""
    ordered = sorted(rows, key=lambda row: (row.at, row.pk))
    return {(row.player_id, row.occasion): row for row in ordered}
