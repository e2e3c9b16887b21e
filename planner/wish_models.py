"""What a coach wishes of a block, beside minutes and load: how nights are built, how drills run, who stands with whom.

A block without any of these rows is planned as if they did not exist.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from drills.models import Drill
from planner.building.house_rules import A_LITTLE, MUCH, RATHER
from shared.core.positions import BACKS, FORWARDS, GROUPS
from shared.models import Club, Membership
from squads.models import Player

if TYPE_CHECKING:
    from planner.models import Block

# Units of a drill: roles that players have by their positions, the halves of the team before its groups.
UNITS = (FORWARDS, BACKS, *GROUPS)


class Matters(models.IntegerChoices):
    A_LITTLE = A_LITTLE, _("a little")
    RATHER = RATHER, _("rather")
    MUCH = MUCH, _("much")


class Keep(models.TextChoices):
    TOGETHER = "together", _("each unit at a station of its own")
    MIXED = "mixed", _("units mixed at every station")


class BlockWishesQuerySet(models.QuerySet):
    def with_all(self) -> BlockWishesQuerySet:
        """With every wish of the block and the rows that it names, in a fixed number of queries."""
        return self.prefetch_related(
            "drill_wishes__drill", "apart__first", "apart__second", "favourites__coach__user", "favourites__drills"
        )


class BlockWishes(models.Model):
    """All that is wished of a block: what every night keeps to stands here, the rest in rows below.

    `version` goes up with each change of any of it.
    """

    block = models.OneToOneField("planner.Block", on_delete=models.CASCADE, related_name="wishes")
    themes_most = models.PositiveSmallIntegerField(null=True, blank=True)
    nothing_new = models.BooleanField(default=False)
    tiring_rpe = models.PositiveSmallIntegerField(null=True, blank=True)
    hard_rpe = models.PositiveSmallIntegerField(null=True, blank=True)
    hard_most = models.PositiveSmallIntegerField(null=True, blank=True)
    version = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField(auto_now=True)

    objects = BlockWishesQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(themes_most__isnull=True) | Q(themes_most__gte=1, themes_most__lte=6),
                name="wished_themes_1_to_6",
            ),
            models.CheckConstraint(
                condition=Q(tiring_rpe__isnull=True) | Q(tiring_rpe__gte=1, tiring_rpe__lte=10),
                name="wished_tiring_rpe_1_to_10",
            ),
            models.CheckConstraint(
                condition=Q(hard_rpe__isnull=True, hard_most__isnull=True)
                | Q(hard_rpe__isnull=False, hard_most__isnull=False)
                & Q(hard_rpe__gte=1, hard_rpe__lte=10, hard_most__gte=1, hard_most__lte=9),
                name="wished_hard_row_is_whole",
            ),
        ]

    def __str__(self) -> str:
        return str(self.block)


class WishQuerySet(models.QuerySet):
    """Rows that hang below the wishes of a block."""

    def of(self, club: Club) -> WishQuerySet:
        return self.filter(wishes__block__squad__club=club)


class Apart(models.Model):
    """Two players who never share a station. The lower key stands first, so that a pair is one row."""

    ONCE = ("first", "second")

    wishes = models.ForeignKey(BlockWishes, on_delete=models.CASCADE, related_name="apart")
    first = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="+")
    second = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="+")
    contact_only = models.BooleanField(default=False)

    objects = WishQuerySet.as_manager()

    class Meta:
        ordering = ["first__family_name", "second__family_name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["wishes", "first", "second"], name="a_pair_is_kept_apart_once_in_a_block"),
            models.CheckConstraint(condition=Q(first__lt=F("second")), name="apart_are_two_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.first} / {self.second}"

    def is_of(self, block: Block) -> bool:
        return self.first.squad_id == self.second.squad_id == block.squad_id


class DrillWish(models.Model):
    """How one drill runs in a block. `unit_roles` are names of UNITS with a space between."""

    ONCE = ("drill",)

    wishes = models.ForeignKey(BlockWishes, on_delete=models.CASCADE, related_name="drill_wishes")
    drill = models.ForeignKey(Drill, on_delete=models.CASCADE, related_name="+")
    fresh = models.BooleanField(default=False)
    runs_least = models.PositiveSmallIntegerField(default=0)
    runs_most = models.PositiveSmallIntegerField(null=True, blank=True)
    gap_days = models.PositiveSmallIntegerField(default=0)
    matters = models.PositiveSmallIntegerField(choices=Matters, default=Matters.RATHER)
    keep = models.CharField(max_length=8, choices=Keep, blank=True)
    unit_roles = models.CharField(max_length=40, blank=True)
    unit_least = models.PositiveSmallIntegerField(default=1)

    objects = WishQuerySet.as_manager()

    class Meta:
        ordering = ["drill__number"]
        constraints = [
            models.UniqueConstraint(fields=["wishes", "drill"], name="one_wish_per_block_and_drill"),
            models.CheckConstraint(
                condition=Q(runs_most__isnull=True) | Q(runs_most__gte=F("runs_least")), name="wished_runs_in_order"
            ),
            models.CheckConstraint(condition=Q(gap_days__lte=364), name="wished_gap_within_a_block"),
            models.CheckConstraint(condition=Q(matters__in=Matters.values), name="drill_wish_matters_by_a_known_step"),
            models.CheckConstraint(
                condition=Q(keep="", unit_roles="")
                | Q(keep__in=Keep.values, unit_roles__contains=" ", unit_least__gte=1),
                name="wished_units_are_two_or_more",
            ),
            models.CheckConstraint(
                condition=Q(fresh=True)
                | Q(runs_least__gte=1)
                | Q(runs_most__isnull=False)
                | Q(gap_days__gte=1)
                | ~Q(keep=""),
                name="drill_wish_wishes_something",
            ),
        ]

    def __str__(self) -> str:
        return str(self.drill)

    @property
    def units(self) -> tuple[str, ...]:
        return tuple(self.unit_roles.split())

    def is_of(self, block: Block) -> bool:
        return self.drill.club_id == block.squad.club_id


class Favourite(models.Model):
    """Drills one of which a coach would like to run on each night that he is there."""

    ONCE = ("coach",)

    wishes = models.ForeignKey(BlockWishes, on_delete=models.CASCADE, related_name="favourites")
    coach = models.ForeignKey(Membership, on_delete=models.CASCADE, related_name="+")
    drills = models.ManyToManyField(Drill, related_name="+")
    matters = models.PositiveSmallIntegerField(choices=Matters, default=Matters.A_LITTLE)

    objects = WishQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["wishes", "coach"], name="one_list_of_favourites_per_coach"),
            models.CheckConstraint(condition=Q(matters__in=Matters.values), name="favourite_matters_by_a_known_step"),
        ]

    def __str__(self) -> str:
        return str(self.coach.user)

    def is_of(self, block: Block) -> bool:
        return self.coach.club_id == block.squad.club_id
