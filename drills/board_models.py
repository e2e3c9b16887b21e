"""What a club keeps of the board: scenes under a name, and its own figures in place of ours."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from drills.queries import OfClubQuerySet
from shared.models import Club

NAME_LENGTH = 60
YOUNGEST, OLDEST = 6, 23  # "under 6" to "under 23"; 0 stands for everybody else
AGE = Q(under=0) | Q(under__gte=YOUNGEST, under__lte=OLDEST)


class BoardScene(models.Model):
    """A scene that the club named, as docs/board.md tells it, and by whose figures it is judged.

    Each saving is the next version; the ones before stand in the audit chain.
    """

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="board_scenes")
    name = models.CharField(_("name"), max_length=NAME_LENGTH)
    version = models.PositiveIntegerField(default=1)
    under = models.PositiveSmallIntegerField(_("age grade: under"), default=0)
    saved_on = models.DateField()
    author = models.CharField(_("author"), max_length=80, blank=True)
    scene = models.JSONField()

    objects = OfClubQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["club", "name"], name="a_club_names_a_scene_once"),
            models.CheckConstraint(condition=~Q(name=""), name="a_scene_has_a_name"),
            models.CheckConstraint(condition=Q(version__gte=1), name="versions_of_a_scene_count_from_1"),
            models.CheckConstraint(condition=AGE, name="a_scene_is_for_a_known_age_grade"),
        ]

    def __str__(self) -> str:
        return self.name


class BoardFigure(models.Model):
    """One figure of the board that the club changed; what it did not change is ours (drills.core.board.book)."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="board_figures")
    under = models.PositiveSmallIntegerField(_("age grade: under"), default=0)
    figure = models.CharField(max_length=60)
    value = models.FloatField()

    objects = OfClubQuerySet.as_manager()

    class Meta:
        ordering = ["under", "figure"]
        constraints = [
            models.UniqueConstraint(fields=["club", "under", "figure"], name="a_club_has_one_value_of_a_figure"),
            models.CheckConstraint(condition=AGE, name="a_figure_is_for_a_known_age_grade"),
            models.CheckConstraint(condition=Q(value__gt=-1000, value__lt=1000), name="a_figure_is_below_1000"),
            models.CheckConstraint(condition=~Q(figure=""), name="a_figure_has_a_name"),
        ]

    def __str__(self) -> str:
        return f"{self.figure} {self.value:g}"

    @classmethod
    def values_of(cls, club: Club, under: int) -> dict[str, float]:
        """The club's own figures for an age grade: those for everybody, and over them those of the grade."""
        rows = cls.objects.of(club).filter(under__in={0, under}).order_by("under")
        return {row.figure: row.value for row in rows}

    @classmethod
    def grades_of(cls, club: Club) -> list[int]:
        """The age grades that have figures of their own."""
        return sorted(cls.objects.of(club).filter(under__gt=0).values_list("under", flat=True).distinct())


def words_of(under: int) -> Any:
    return _("under %d") % under if under else _("adults, and every grade without own figures")
