"""Calendars that people subscribe to: who holds the secret address of one, and what each audience was told."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q
from django.db.models.functions import Length
from django.db.models.lookups import Exact
from django.utils.translation import gettext_lazy as _

from shared.models import Club, Membership, User
from shared.tokens import DIGEST_LENGTH
from squads.models import Player


class FeedQuerySet(models.QuerySet):
    def of(self, club: Club) -> FeedQuerySet:
        return self.filter(Q(membership__club=club) | Q(player__squad__club=club))

    def with_reader(self) -> FeedQuerySet:
        """With everything that says who reads it and whether he still may."""
        return self.select_related("membership__club", "membership__user", "player__squad__club")


class Feed(models.Model):
    """The calendar of one member of the club or of one player. Without the row its address opens nothing.

    A member's row goes with the membership, so somebody who left the club reads nothing. `stamp` is of what was
    last given out and `changed_at` the second since which it is so; `read_on` the last day on which it was asked for.
    """

    membership = models.OneToOneField(Membership, null=True, on_delete=models.CASCADE, related_name="feed")
    player = models.OneToOneField(Player, null=True, on_delete=models.CASCADE, related_name="feed")
    digest = models.CharField(max_length=DIGEST_LENGTH, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    read_on = models.DateField(null=True)
    stamp = models.CharField(max_length=DIGEST_LENGTH, blank=True)
    changed_at = models.DateTimeField(null=True)

    objects = FeedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(membership__isnull=False, player__isnull=True)
                | Q(membership__isnull=True, player__isnull=False),
                name="feed_of_a_member_or_of_a_player",
            ),
            models.CheckConstraint(condition=Exact(Length("digest"), DIGEST_LENGTH), name="feed_keeps_a_whole_digest"),
            models.CheckConstraint(
                condition=Q(stamp="", changed_at__isnull=True) | ~Q(stamp="") & Q(changed_at__isnull=False),
                name="feed_stamp_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return str(self.player or self.membership.user)

    @property
    def club(self) -> Club:
        return self.player.squad.club if self.player else self.membership.club


class Audience(models.TextChoices):
    """Each sees something else of the same night, so each counts its own changes."""

    COACHES = "coaches", _("members of the club")
    PLAYERS = "players", _("players")


class Told(models.Model):
    """A session or a match as one audience was last told of it.

    `digest` is of all that this audience sees; `sequence` and `changed_at` move when it changes, and only then.
    `uid` is random, so that it says nothing of anybody (RFC 7986, section 5.3).
    """

    audience = models.CharField(max_length=8, choices=Audience)
    session = models.ForeignKey("planner.Session", null=True, on_delete=models.CASCADE, related_name="told")
    fixture = models.ForeignKey("planner.Fixture", null=True, on_delete=models.CASCADE, related_name="told")
    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    digest = models.CharField(max_length=DIGEST_LENGTH)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(audience__in=Audience.values), name="told_audience_known"),
            models.CheckConstraint(
                condition=Q(session__isnull=False, fixture__isnull=True)
                | Q(session__isnull=True, fixture__isnull=False),
                name="told_of_a_session_or_of_a_match",
            ),
            models.UniqueConstraint(fields=["session", "audience"], name="told_once_of_a_session"),
            models.UniqueConstraint(fields=["fixture", "audience"], name="told_once_of_a_match"),
            models.CheckConstraint(condition=Exact(Length("digest"), DIGEST_LENGTH), name="told_keeps_a_whole_digest"),
        ]

    def __str__(self) -> str:
        return f"{self.audience}: {self.session or self.fixture}"
