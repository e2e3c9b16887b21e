"""Patterns for a week: the club's own, and those that are on the weeks of a squad."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from drills.models import Skill
from planner.core.pattern import Pattern as Figures
from shared.core.contact import Kind
from shared.models import Club, User
from squads.core.eligibility import MatchRules
from squads.models import Squad

if TYPE_CHECKING:
    from planner.models import Fixture

MOST_MINUTES = 600
OF_KIND = {Kind.CONTROLLED: "controlled_minutes", Kind.FULL: "full_minutes", Kind.SET_PIECE: "set_piece_minutes"}


class Fits(models.TextChoices):
    """The week for which the calendar proposes a pattern."""

    NONE = "", _("none: chosen by hand")
    SHORT = "short", _("six days or fewer from match to match")
    MIDWEEK = "midweek", _("two matches, or one in the middle of the week")
    BYE = "bye", _("no match")
    BEFORE_FESTIVAL = "before_festival", _("before a tournament")
    AFTER_FESTIVAL = "after_festival", _("after a tournament")
    THIRD_LAST = "third_last", _("third week before a final")
    SECOND_LAST = "second_last", _("second week before a final")
    LAST = "last", _("week of a final")


def minutes_field(label: str, help_text: str = "") -> models.PositiveSmallIntegerField:
    return models.PositiveSmallIntegerField(
        label, null=True, blank=True, help_text=help_text, validators=[MaxValueValidator(MOST_MINUTES)]
    )


def distance_field(label: str, help_text: str = "") -> models.PositiveSmallIntegerField:
    return models.PositiveSmallIntegerField(
        label, null=True, blank=True, help_text=help_text, validators=[MaxValueValidator(14)]
    )


class WeekFigures(models.Model):
    """What a week should hold, and at most. Empty: as the contact rules have it, or no aim."""

    name = models.CharField(_("name"), max_length=60)
    defence_minutes = minutes_field(_("defence, minutes of the week"), _("an aim"))
    touch_minutes = minutes_field(_("touch and grip (C1), minutes"), _("an aim"))
    controlled_minutes = minutes_field(_("controlled contact, minutes at most"))
    full_minutes = minutes_field(_("full contact, minutes at most"))
    set_piece_minutes = minutes_field(_("live set piece, minutes at most"))
    mean_rpe = models.DecimalField(
        _("mean RPE (1 to 10)"), max_digits=3, decimal_places=1, null=True, blank=True, help_text=_("an aim")
    )
    full_days = models.PositiveSmallIntegerField(_("days with full contact, at most"), null=True, blank=True)
    full_first = distance_field(_("full contact from so many days before a match"), _("5: from MD-5 on"))
    full_before = distance_field(_("last day before a match with full contact"), _("3: until MD-3"))
    full_after = distance_field(_("first day after a match with full contact"), _("2: from 48 h after it on"))
    controlled_before = distance_field(_("last day before a match with controlled contact"), _("2: until MD-2"))
    controlled_after = distance_field(_("first day after a match with controlled contact"))

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="%(class)s_has_a_name"),
            models.CheckConstraint(
                condition=Q(full_days__isnull=True) | Q(full_days__lte=7), name="%(class)s_week_has_7_days"
            ),
            models.CheckConstraint(
                condition=Q(mean_rpe__isnull=True) | Q(mean_rpe__gte=0, mean_rpe__lte=10),
                name="%(class)s_rpe_from_0_to_10",
            ),
            models.CheckConstraint(
                condition=Q(full_first__isnull=True)
                | Q(full_before__isnull=True)
                | Q(full_first__gte=F("full_before")),
                name="%(class)s_full_contact_begins_before_it_ends",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def weekly(self) -> dict[Kind, int]:
        """Minutes at most, of the kinds that it limits."""
        return {kind: most for kind, name in OF_KIND.items() if (most := getattr(self, name)) is not None}

    @property
    def near_matches(self) -> MatchRules:
        return MatchRules(
            full_after=self.full_after or 0,
            full_before=self.full_before or 0,
            controlled_after=self.controlled_after or 0,
            controlled_before=self.controlled_before or 0,
        )


class PatternQuerySet(models.QuerySet):
    def of(self, club: Club) -> PatternQuerySet:
        return self.filter(club=club)

    def on_offer(self) -> PatternQuerySet:
        return self.filter(retired_on=None)


class Pattern(WeekFigures):
    """One of the club's patterns. What is on a week keeps its own figures, whatever becomes of this row."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="patterns")
    fits = models.CharField(_("proposed for a week with"), max_length=16, choices=Fits, blank=True, default=Fits.NONE)
    skills = models.ManyToManyField(Skill, blank=True, related_name="+", verbose_name=_("main skills"))
    notes = models.TextField(_("notes"), blank=True, max_length=500)
    source = models.CharField(_("where its figures come from"), max_length=120, blank=True)
    place = models.PositiveSmallIntegerField(default=100, editable=False)
    retired_on = models.DateField(null=True, blank=True, editable=False)

    objects = PatternQuerySet.as_manager()

    class Meta(WeekFigures.Meta):
        abstract = False
        ordering = ["place", "name"]
        constraints = [
            *WeekFigures.Meta.constraints,
            models.UniqueConstraint(fields=["club", "name"], name="pattern_name_unique_in_club"),
            models.CheckConstraint(condition=Q(fits__in=Fits.values), name="pattern_fits_a_known_week"),
        ]


class WeekPattern(WeekFigures):
    """A pattern on a squad's week: its figures as they were, who put it there, and from which day it holds."""

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="week_patterns")
    monday = models.DateField()
    pattern = models.ForeignKey(Pattern, null=True, on_delete=models.SET_NULL, related_name="weeks")
    skills = models.JSONField(default=list, blank=True)
    holds_from = models.DateField()
    put_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    put_at = models.DateTimeField(auto_now=True)

    class Meta(WeekFigures.Meta):
        abstract = False
        ordering = ["monday"]
        constraints = [
            *WeekFigures.Meta.constraints,
            models.UniqueConstraint(fields=["squad", "monday"], name="one_pattern_on_a_week"),
            models.CheckConstraint(condition=Q(holds_from__gte=F("monday")), name="pattern_holds_in_its_week"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {date_format(self.monday, 'j M Y')}"

    @property
    def figures(self) -> Figures:
        return Figures(self.name, self.weekly, self.full_days, self.full_first, self.near_matches, self.holds_from)


class FinalMatch(models.Model):
    """A match that the club marked as a final: the weeks before it may taper."""

    fixture = models.OneToOneField("planner.Fixture", on_delete=models.CASCADE, related_name="final")
    marked_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    marked_at = models.DateTimeField(auto_now_add=True)

    fixture_id: int

    def __str__(self) -> str:
        fixture: Fixture = self.fixture
        return str(fixture)
