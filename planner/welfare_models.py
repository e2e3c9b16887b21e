"""Who asked for more contact than a limit allows, who decided it, what was done, and which weeks somebody looked at.

Rows are only ever added. None has a column for a medical reason: why somebody was put in contact is a matter of the
plan, why he may not be is a matter of his medical record.
"""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from planner.attendance_models import SESSION
from planner.core.windows import Measure
from planner.record_models import Kept, RecordQuerySet
from shared.models import Club, User
from squads.models import Player, Squad

MEASURES = {
    Measure.FULL: _("full contact"),
    Measure.CONTROLLED: _("controlled"),
    Measure.SET_PIECE: _("live set piece"),
    Measure.FULL_DAYS: _("days with full contact"),
    Measure.FREE_DAYS: _("days without contact"),
    Measure.MATCH_MINUTES: _("match minutes"),
    Measure.MATCH_HOURS: _("hours between matches"),
    Measure.TWO_DAY_MINUTES: _("match minutes in 48 hours"),
    Measure.SEASON_MATCHES: _("matches this season"),
}


class ExcessQuerySet(RecordQuerySet):
    def with_answers(self) -> ExcessQuerySet:
        return self.select_related("decision", "session__squad__club", "player__squad__club")

    def open(self) -> ExcessQuerySet:
        """Those that nobody has decided yet."""
        return self.filter(decision__isnull=True)


class Excess(Kept):
    """Somebody asks that one player may pass one limit in one session, or notes afterwards that he did.

    `amount` and `limit` are the figure of that week and what bound it when this was asked, in the measure's own unit;
    `source` is the document of the limit. A request is for one session; a note may be about a week.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="excesses")
    monday = models.DateField(_("week from"))
    session = models.ForeignKey(SESSION, null=True, blank=True, on_delete=models.RESTRICT, related_name="excesses")
    measure = models.CharField(_("limit"), max_length=20, choices=list(MEASURES.items()))
    amount = models.DecimalField(_("figure"), max_digits=8, decimal_places=2)
    limit = models.PositiveIntegerField(_("limit at that time"))
    source = models.CharField(_("document of the limit"), max_length=400)
    is_note = models.BooleanField(_("noted afterwards"), default=False)
    why = models.CharField(_("why"), max_length=300)

    objects = ExcessQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["player", "monday"], name="excess_by_player_and_week")]
        constraints = [
            *Kept.Meta.constraints,
            models.CheckConstraint(condition=~Q(why=""), name="excess_says_why"),
            models.CheckConstraint(condition=Q(measure__in=[*MEASURES]), name="excess_measure_known"),
            models.CheckConstraint(condition=Q(amount__gte=0), name="excess_figure_not_below_0"),
            models.CheckConstraint(
                condition=Q(is_note=True) | Q(session__isnull=False), name="excess_is_asked_for_one_session"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {date_format(self.monday, 'j M Y')}: {self.get_measure_display()}"

    @property
    def is_answered(self) -> bool:
        return hasattr(self, "decision")

    @property
    def is_approved(self) -> bool:
        return self.is_answered and self.decision.approved

    @property
    def is_answered_late(self) -> bool:
        """Asked before the night, and answered when it had begun."""
        if self.is_note or self.session is None or not self.is_answered:
            return False
        return self.decision.at >= self.session.starts_at


class ExcessDecision(Kept):
    """The answer, which is kept whether it is yes or no. `asked_by` stands here so that the database can compare."""

    excess = models.OneToOneField(Excess, on_delete=models.CASCADE, related_name="decision")
    asked_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    approved = models.BooleanField(_("approved"))
    why = models.CharField(_("reason"), max_length=300)

    class Meta:
        constraints = [
            *Kept.Meta.constraints,
            models.CheckConstraint(condition=~Q(why=""), name="decision_gives_a_reason"),
            models.CheckConstraint(
                condition=Q(by__isnull=True) | Q(asked_by__isnull=True) | ~Q(by=F("asked_by")),
                name="nobody_decides_what_he_asked_for",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.excess}: {_('approved') if self.approved else _('refused')}"


class Did(models.TextChoices):
    """What was done after a limit was passed."""

    REST = "rest", _("rest")
    NON_CONTACT = "non_contact", _("non-contact for a time")
    TALK = "talk", _("talk with the parent or the player")
    PLAN = "plan", _("plan changed")
    OTHER = "other", _("something else")


class ActionTaken(Kept):
    """What was done for a player about a week. `follow_up` is the day to look again; a later row answers it."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="actions_taken")
    monday = models.DateField(_("week from"))
    did = models.CharField(_("what was done"), max_length=12, choices=Did)
    words = models.CharField(_("in words"), max_length=300, blank=True)
    follow_up = models.DateField(_("look again on"), null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["player", "monday"], name="action_by_player_and_week")]
        constraints = [
            *Kept.Meta.constraints,
            models.CheckConstraint(condition=Q(did__in=Did.values), name="action_known"),
            models.CheckConstraint(condition=~Q(did=Did.OTHER) | ~Q(words=""), name="action_something_else_says_what"),
            models.CheckConstraint(
                condition=Q(follow_up__isnull=True) | Q(follow_up__gte=F("monday")), name="action_is_followed_up_after"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {date_format(self.monday, 'j M Y')}: {self.get_did_display()}"


class OfSquadQuerySet(RecordQuerySet):
    def of(self, club: Club) -> OfSquadQuerySet:
        return self.filter(squad__club=club)


class WeekChecked(Kept):
    """Somebody looked at the figures of a squad's week. `seen` are those figures, `digest` stands for all of them.

    A figure that is corrected later gives another digest: then the week is to be checked again.
    """

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="weeks_checked")
    monday = models.DateField(_("week from"))
    digest = models.CharField(max_length=64)
    seen = models.JSONField(default=dict)

    objects = OfSquadQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["squad", "monday"], name="checked_by_squad_and_week")]
        constraints = [
            *Kept.Meta.constraints,
            models.CheckConstraint(condition=~Q(digest=""), name="weekchecked_has_a_digest"),
        ]

    def __str__(self) -> str:
        return f"{self.squad}, {date_format(self.monday, 'j M Y')}"


class PlaysElsewhere(Kept):
    """From a day on a player trains or plays with another team too, or no longer does: then somebody has to be asked.

    The newest row that has begun counts.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="plays_elsewhere")
    from_day = models.DateField(_("from"))
    plays = models.BooleanField(_("plays elsewhere too"), default=True)
    where = models.CharField(_("where"), max_length=120, blank=True)
    asked = models.CharField(_("who tells the minutes"), max_length=120, blank=True)

    class Meta:
        ordering = ["from_day", "pk"]
        indexes = [models.Index(fields=["player", "from_day"], name="elsewhere_by_player_and_day")]
        constraints = [
            *Kept.Meta.constraints,
            models.CheckConstraint(condition=Q(plays=False) | ~Q(where=""), name="elsewhere_says_where"),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {date_format(self.from_day, 'j M Y')}: {self.where or _('nowhere else')}"
