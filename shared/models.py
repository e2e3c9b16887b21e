"""People and clubs, the audit chain, and the queue of record for background jobs."""

from __future__ import annotations

import datetime as dt
import uuid
import zoneinfo

from django.conf import settings
from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.db.models.expressions import CombinedExpression
from django.db.models.functions import Length, Now
from django.db.models.lookups import Exact
from django.utils.translation import gettext_lazy as _

from shared.core.positions import Names
from shared.roles import ROLES, Permission, Role
from shared.tokens import DIGEST_LENGTH


class User(AbstractUser):
    """Somebody who logs in. Players do not need an account."""

    def __str__(self) -> str:
        return self.get_full_name() or self.username


def known_zone(value: str) -> None:
    if value not in zoneinfo.available_timezones():
        raise ValidationError(_("“%(zone)s” is not a time zone. Write it like Europe/London."), params={"zone": value})


class Club(models.Model):
    name = models.CharField(_("name"), max_length=80)
    slug = models.SlugField(_("short name for addresses"), unique=True)
    zone = models.CharField(_("time zone"), max_length=64, default="Europe/London", validators=[known_zone])
    emergency = models.JSONField(_("emergency details for every sheet"), default=dict, blank=True)
    position_names = models.JSONField(_("own names of positions and groups"), default=dict, blank=True)
    members = models.ManyToManyField(User, through="Membership", related_name="clubs")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def tzinfo(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.zone)

    @property
    def names(self) -> Names:
        """What the club calls positions and groups."""
        return Names(self.position_names)


class Membership(models.Model):
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="memberships")
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(_("role"), max_length=20, choices=[(key, role.name) for key, role in ROLES.items()])

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["club", "user"], name="one_membership_per_club"),
            models.CheckConstraint(condition=Q(role__in=list(ROLES)), name="membership_role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.user}, {self.role_object.name}, {self.club}"

    @property
    def role_object(self) -> Role:
        return ROLES[self.role]

    def may(self, permission: Permission) -> bool:
        return self.role_object.may(permission)


class Invitation(models.Model):
    """A role that waits for whoever opens its secret address. The row goes when he takes it up or it is taken back.

    `made_by` is empty where the machine's keeper made it (`manage.py make_club`).
    """

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="invitations")
    role = models.CharField(_("role"), max_length=20, choices=[(key, role.name) for key, role in ROLES.items()])
    name = models.CharField(_("for whom"), max_length=120)
    why = models.CharField(max_length=120, blank=True)
    digest = models.CharField(max_length=DIGEST_LENGTH, unique=True)
    made_by = models.ForeignKey(User, null=True, on_delete=models.CASCADE, related_name="+")
    ends_at = models.DateTimeField()

    class Meta:
        ordering = ["ends_at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(role__in=list(ROLES)), name="invitation_role_known"),
            models.CheckConstraint(condition=~Q(name=""), name="invitation_is_for_somebody"),
            models.CheckConstraint(
                condition=Exact(Length("digest"), DIGEST_LENGTH), name="invitation_keeps_a_whole_digest"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def role_object(self) -> Role:
        return ROLES[self.role]


class AuditEvent(models.Model):
    """Who did what, when. Plain text without foreign keys, so that it outlives what it speaks of.

    Each row carries a digest over itself and the row before it in the same club: a changed or missing
    row breaks the chain. Rows are written by `shared.audit.record` and never changed.
    """

    club = models.CharField(max_length=50)
    number = models.PositiveIntegerField()
    at = models.DateTimeField()
    actor = models.CharField(max_length=150)
    did = models.CharField(max_length=60)
    subject = models.CharField(max_length=200)
    detail = models.JSONField(default=dict, blank=True)
    digest = models.CharField(max_length=64)

    class Meta:
        ordering = ["club", "number"]
        constraints = [models.UniqueConstraint(fields=["club", "number"], name="audit_numbers_are_unique")]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.actor}: {self.did} {self.subject}"


class AuditHead(models.Model):
    """The end of a club's audit chain; locking it puts concurrent writers in line."""

    club = models.CharField(max_length=50, primary_key=True)
    number = models.PositiveIntegerField(default=0)
    digest = models.CharField(max_length=64, default="")

    def __str__(self) -> str:
        return f"{self.club} {self.number}"


class JobState(models.TextChoices):
    QUEUED = "queued", _("waiting")
    RUNNING = "running", _("running")
    DONE = "done", _("done")
    FAILED = "failed", _("failed")
    CANCELLED = "cancelled", _("cancelled")


def seconds_ago(seconds: float) -> CombinedExpression:
    """By the database's own clock, so that web server and workers need not agree on the time."""
    return Now() - dt.timedelta(seconds=seconds)


class JobQuerySet(models.QuerySet):
    def of(self, club: Club) -> JobQuerySet:
        return self.filter(club=club)

    def abandoned(self) -> JobQuerySet:
        """Running jobs whose worker has shown no sign of life for the length of a lease."""
        return self.filter(state=JobState.RUNNING, beat__lt=seconds_ago(settings.JOB_LEASE_SECONDS))

    def free(self) -> JobQuerySet:
        """Jobs that a worker may take up now.

        All in plain conditions on the row: PostgreSQL checks these again after waiting for a rival's
        update, which it would not do inside a subquery.
        """
        abandoned = Q(
            state=JobState.RUNNING,
            beat__lt=seconds_ago(settings.JOB_LEASE_SECONDS),
            attempts__lt=self.model.MOST_ATTEMPTS,
        )
        return self.filter(Q(state=JobState.QUEUED) | abandoned, cancel_asked=False)

    def unsent_for(self, seconds: float) -> JobQuerySet:
        """Waiting jobs whose last message to the workers is older than that, and so may be lost."""
        return self.filter(Q(sent_at__isnull=True) | Q(sent_at__lte=seconds_ago(seconds)), state=JobState.QUEUED)


class Job(models.Model):
    """One piece of background work. This row, not the broker, says what is to be done and how far it is.

    A worker owns a running job as long as its `token` stands in the row and `beat` is fresh.
    """

    MOST_ATTEMPTS = 2

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="jobs")
    task = models.CharField(max_length=60)
    args = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=JobState, default=JobState.QUEUED)
    progress = models.JSONField(default=dict, blank=True)
    error = models.TextField(blank=True)
    token = models.UUIDField(null=True, blank=True)
    beat = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    cancel_asked = models.BooleanField(default=False)
    asked_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at"]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=JobState.values), name="job_state_known"),
            models.CheckConstraint(
                condition=~Q(state=JobState.RUNNING) | (Q(token__isnull=False) & Q(beat__isnull=False)),
                name="running_job_has_an_owner",
            ),
        ]
        indexes = [models.Index(fields=["state", "beat"])]

    def __str__(self) -> str:
        return f"{self.task} {self.state}"

    @property
    def is_over(self) -> bool:
        return self.state in {JobState.DONE, JobState.FAILED, JobState.CANCELLED}


class Upload(models.Model):
    """A file between its preview and its confirmation. Confirming reads it again, so nothing stale is written."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=200)
    content = models.BinaryField()
    made_by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name
