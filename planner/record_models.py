"""What really happened: on a night, elsewhere, and in a match.

Rows of the record are only ever added, which the database itself sees to: a correction is a new row that names the
one it replaces, and the old one stays readable with who entered it and when. Rows go only with the player or the
squad that they belong to.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from drills.models import Drill
from planner.attendance_models import SESSION, AddedTo, AddedToQuerySet
from planner.core.record import LONGEST
from shared.core.contact import RUNGS, Kind, below_or_at
from shared.models import Club, User
from squads.models import Player


class RecordQuerySet(AddedToQuerySet):
    def delete(self) -> tuple[int, dict[str, int]]:
        raise TypeError("rows of the record are never deleted: add a new one")


class Kept(AddedTo):
    """A row of the record: who entered it, and when. `by_name` outlives the login."""

    by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    by_name = models.CharField(max_length=150)
    at = models.DateTimeField(default=timezone.now)

    objects = RecordQuerySet.as_manager()

    class Meta:
        abstract = True
        constraints = [models.CheckConstraint(condition=~Q(by_name=""), name="%(class)s_names_who_entered_it")]

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise TypeError("a row of the record is never deleted: add a new one")


class AccountQuerySet(RecordQuerySet):
    def of(self, club: Club) -> AccountQuerySet:
        return self.filter(session__squad__club=club)

    def with_lines(self) -> AccountQuerySet:
        return self.prefetch_related("lines__presences")


class Account(Kept):
    """What somebody says of one station, or of content for everyone: its lines say how long at which rung, and who.

    `spot` names the station within the night whatever becomes of the plan: planner.record.spot_of makes it. `slot` is
    empty for what ran beside the plan. What its card said stands here as well, so that a later version of the card
    changes no figure: `title`, `rpe`, and `skills`, each with its share in per cent and the groups that it is for.
    The account that no other replaces counts.
    """

    session = models.ForeignKey(SESSION, on_delete=models.CASCADE, related_name="accounts")
    slot = models.ForeignKey("planner.Slot", null=True, on_delete=models.RESTRICT, related_name="accounts")
    spot = models.CharField(max_length=40)
    order = models.PositiveSmallIntegerField()
    letter = models.PositiveSmallIntegerField(default=0)
    drill = models.ForeignKey(Drill, null=True, on_delete=models.RESTRICT, related_name="accounts")
    card_version = models.PositiveIntegerField(default=0)
    title = models.CharField(_("what ran"), max_length=80)
    rpe = models.PositiveSmallIntegerField(_("expected RPE"), default=0)
    skills = models.JSONField(default=list, blank=True)
    replaces = models.OneToOneField("self", null=True, on_delete=models.CASCADE, related_name="replaced_by")
    why = models.CharField(_("why it was corrected"), max_length=200, blank=True)

    objects = AccountQuerySet.as_manager()

    class Meta:
        ordering = ["order", "letter", "pk"]
        indexes = [models.Index(fields=["session", "spot"], name="account_by_session_and_spot")]
        constraints = [
            *Kept.Meta.constraints,
            models.UniqueConstraint(
                fields=["session", "spot"], condition=Q(replaces__isnull=True), name="account_begins_a_spot_once"
            ),
            models.CheckConstraint(condition=~Q(title="") & ~Q(spot=""), name="account_says_of_what"),
            models.CheckConstraint(condition=Q(rpe__lte=10), name="account_rpe_at_most_10"),
        ]

    def __str__(self) -> str:
        return f"{self.session}: {self.title}"


class OfAccountQuerySet(RecordQuerySet):
    def of(self, club: Club) -> OfAccountQuerySet:
        return self.filter(account__session__squad__club=club)


def no_rung_above_the_card() -> Q:
    """A rung that stands no higher than the one that was printed, for each that may be printed."""
    allowed = Q()
    for printed in RUNGS:
        allowed |= Q(card_rung=printed, rung__in=sorted(below_or_at(printed)))
    return allowed


class Line(AddedTo):
    """So many minutes at one rung; a second one where the rung was dropped from a minute on.

    `card_rung` is the rung of the card as it was printed, C0 for what no plan held. A line above it names who
    answered for that, by initials, and why.
    """

    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="lines")
    part = models.PositiveSmallIntegerField(default=0)
    minutes = models.PositiveSmallIntegerField(_("minutes"))
    rung = models.CharField(_("rung"), max_length=3, choices=[(r.code, f"{r.code} {r.name}") for r in RUNGS.values()])
    card_rung = models.CharField(_("rung on the card"), max_length=3)
    share = models.PositiveSmallIntegerField(_("per cent of the time in contact"), default=0)
    initials = models.CharField(_("initials of the lead coach"), max_length=8, blank=True)
    reason = models.CharField(_("why the rung was raised"), max_length=200, blank=True)

    objects = OfAccountQuerySet.as_manager()

    class Meta:
        ordering = ["account", "part"]
        constraints = [
            models.UniqueConstraint(fields=["account", "part"], name="line_part_unique_in_account"),
            models.CheckConstraint(condition=Q(minutes__lte=LONGEST), name="line_minutes_of_one_entry"),
            models.CheckConstraint(
                condition=Q(rung__in=list(RUNGS), card_rung__in=list(RUNGS)), name="line_rung_known"
            ),
            models.CheckConstraint(condition=Q(share__lte=100), name="line_share_at_most_100"),
            models.CheckConstraint(condition=~Q(rung="C0") | Q(share=0), name="line_walk_through_without_contact"),
            models.CheckConstraint(
                condition=no_rung_above_the_card() | (~Q(initials="") & ~Q(reason="")),
                name="line_above_the_card_has_initials_and_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.account}, {self.minutes} min {self.rung}"

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise TypeError("a row of the record is never deleted: add a new one")


class PresenceQuerySet(RecordQuerySet):
    def of(self, club: Club) -> PresenceQuerySet:
        return self.filter(player__squad__club=club)


class Presence(AddedTo):
    """A player in a line, from its minute `after` on for so many: all of them, unless he came late or left early.

    `aside`: he took no part in its contact, in a bib of his own or without an opponent, so that none is booked.
    """

    line = models.ForeignKey(Line, on_delete=models.CASCADE, related_name="presences")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="presences")
    minutes = models.PositiveSmallIntegerField(_("minutes"))
    after = models.PositiveSmallIntegerField(default=0)
    aside = models.BooleanField(_("stood aside from contact"), default=False)

    objects = PresenceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["line", "player"], name="presence_once_in_a_line"),
            models.CheckConstraint(condition=Q(minutes__gte=1, minutes__lte=LONGEST), name="presence_of_a_minute"),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.minutes} min of {self.line}"

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise TypeError("a row of the record is never deleted: add a new one")


class ConfirmationQuerySet(RecordQuerySet):
    def of(self, club: Club) -> ConfirmationQuerySet:
        return self.filter(session__squad__club=club)


class Confirmation(Kept):
    """Somebody says that the record of a night is what happened; number 1 confirms, each later one tells a correction.

    `plan_version` and `plan` are what the plan said when it was confirmed; `coaches` and `first_aider` were there.
    """

    session = models.ForeignKey(SESSION, on_delete=models.CASCADE, related_name="confirmations")
    number = models.PositiveSmallIntegerField()
    plan_version = models.PositiveIntegerField()
    plan = models.JSONField(default=list, blank=True)
    coaches = models.JSONField(_("coaches who were there"), default=list, blank=True)
    first_aider = models.CharField(_("first aider who was there"), max_length=80, blank=True)
    what = models.CharField(_("what was corrected"), max_length=300, blank=True)

    objects = ConfirmationQuerySet.as_manager()

    class Meta:
        ordering = ["session", "number"]
        constraints = [
            *Kept.Meta.constraints,
            models.UniqueConstraint(fields=["session", "number"], name="confirmation_number_unique_in_session"),
            models.CheckConstraint(condition=Q(number__gte=1), name="confirmations_count_from_1"),
        ]

    def __str__(self) -> str:
        return f"{self.session}, record {self.number}"


class CountingQuerySet(RecordQuerySet):
    def counting(self) -> CountingQuerySet:
        """Rows that no later one replaces."""
        return self.filter(replaced_by__isnull=True)

    def between(self, first: dt.date, last: dt.date) -> CountingQuerySet:
        return self.filter(day__gte=first, day__lte=last)


class Elsewhere(models.TextChoices):
    SCHOOL = "school", _("school")
    COUNTY = "county", _("county or region")
    SEVENS = "sevens", _("sevens")
    SPORT = "sport", _("another sport")
    OTHER = "other", _("another team")


class DeclaredQuerySet(CountingQuerySet):
    def of_members(self) -> DeclaredQuerySet:
        """Of days on which the player was in the squad."""
        joined = Q(player__joined__isnull=True) | Q(player__joined__lte=F("day"))
        return self.filter(joined, Q(player__left__isnull=True) | Q(player__left__gte=F("day")))


class Declared(Kept):
    """Contact in training elsewhere, as somebody told it. 0 minutes: he was asked, and there was none."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="declared")
    day = models.DateField(_("day"))
    place = models.CharField(_("where"), max_length=8, choices=Elsewhere)
    kind = models.CharField(_("contact"), max_length=10, choices=[(kind.value, kind.value) for kind in Kind])
    minutes = models.PositiveSmallIntegerField(_("minutes of contact"))
    declared_by = models.CharField(_("told by"), max_length=120)
    replaces = models.OneToOneField("self", null=True, on_delete=models.CASCADE, related_name="replaced_by")

    objects = DeclaredQuerySet.as_manager()

    class Meta:
        ordering = ["day", "pk"]
        indexes = [models.Index(fields=["player", "day"], name="declared_by_player_and_day")]
        constraints = [
            *Kept.Meta.constraints,
            models.CheckConstraint(condition=~Q(declared_by=""), name="declared_names_who_told_it"),
            models.CheckConstraint(condition=Q(place__in=Elsewhere.values), name="declared_place_known"),
            models.CheckConstraint(condition=Q(kind__in=[kind.value for kind in Kind]), name="declared_kind_known"),
            models.CheckConstraint(condition=Q(minutes__lte=LONGEST), name="declared_minutes_of_one_day"),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {date_format(self.day, 'j M Y')}: {self.minutes} min {self.kind}, {self.place}"


class MatchSource(models.TextChoices):
    TEAM_SHEET = "sheet", _("team sheet")
    DECLARED = "declared", _("told")


class MatchMinutes(Kept):
    """Minutes that a player played in a match: one of the squad's (`fixture`), or one elsewhere (`opponent`).

    `kick_off` is the moment at which it began, `day` that day where the fixture is, elsewhere at the club. 0 minutes:
    he did not play.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="match_minutes")
    fixture = models.ForeignKey("planner.Fixture", null=True, on_delete=models.RESTRICT, related_name="match_minutes")
    opponent = models.CharField(_("which match"), max_length=120, blank=True)
    kick_off = models.DateTimeField(_("kick-off"))
    day = models.DateField(editable=False)
    minutes = models.PositiveSmallIntegerField(_("minutes"))
    source = models.CharField(_("from"), max_length=8, choices=MatchSource, default=MatchSource.TEAM_SHEET)
    declared_by = models.CharField(_("told by"), max_length=120)
    replaces = models.OneToOneField("self", null=True, on_delete=models.CASCADE, related_name="replaced_by")

    objects = CountingQuerySet.as_manager()

    class Meta:
        ordering = ["kick_off", "pk"]
        indexes = [models.Index(fields=["player", "day"], name="match_minutes_by_player_day")]
        constraints = [
            *Kept.Meta.constraints,
            models.UniqueConstraint(
                fields=["player", "fixture"],
                condition=Q(replaces__isnull=True, fixture__isnull=False),
                name="match_minutes_begin_once_per_fixture",
            ),
            models.CheckConstraint(
                condition=Q(fixture__isnull=False) | ~Q(opponent=""), name="match_elsewhere_says_which"
            ),
            models.CheckConstraint(condition=Q(minutes__lte=LONGEST), name="match_minutes_of_one_match"),
            models.CheckConstraint(condition=Q(source__in=MatchSource.values), name="match_minutes_source_known"),
            models.CheckConstraint(condition=~Q(declared_by=""), name="match_minutes_name_who_told_them"),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {date_format(self.day, 'j M Y')}: {self.minutes} min"

    def save(self, *args: Any, **kwargs: Any) -> None:
        zone = self.fixture.zone if self.fixture else self.player.squad.club.tzinfo
        self.day = self.kick_off.astimezone(zone).date()
        super().save(*args, **kwargs)


class DayState(models.TextChoices):
    CONFIRMED = "confirmed", _("confirmed")
    DECLARED = "declared", _("told")
    OPEN = "open", _("not confirmed")


class PlayerDay(models.Model):
    """What the record says of one player and day, added up; planner.record_days keeps it equal to the record.

    Contact is in whole hundredths of a minute. Training counts from the nights that are confirmed; of the others
    planner.record_days.days_told tells what is planned. `load` is in AU, RPE x minutes; missing is missing.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="days")
    day = models.DateField()
    minutes = models.PositiveIntegerField(_("minutes of training"), default=0)
    full = models.PositiveIntegerField(default=0)
    controlled = models.PositiveIntegerField(default=0)
    set_piece = models.PositiveIntegerField(default=0)
    declared_full = models.PositiveIntegerField(default=0)
    declared_controlled = models.PositiveIntegerField(default=0)
    declared_set_piece = models.PositiveIntegerField(default=0)
    match_minutes = models.PositiveIntegerField(default=0)
    state = models.CharField(max_length=9, choices=DayState, default=DayState.OPEN)
    load = models.FloatField(_("load, AU"), null=True, blank=True)

    class Meta:
        ordering = ["player", "day"]
        constraints = [
            models.UniqueConstraint(fields=["player", "day"], name="one_row_per_player_and_day"),
            models.CheckConstraint(condition=Q(state__in=DayState.values), name="player_day_state_known"),
            models.CheckConstraint(condition=Q(load__isnull=True) | Q(load__gte=0), name="player_day_load_not_below_0"),
        ]

    def __str__(self) -> str:
        return f"{self.player} {date_format(self.day, 'j M Y')}"
