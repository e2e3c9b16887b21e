"""Who comes and who came: replies before a night, and marks on it.

Replies and marks are only ever added: the newest counts, and every one is kept.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from planner.core import presence
from shared.models import Club, User
from squads.models import Player

SESSION = "planner.Session"


class AddedToQuerySet(models.QuerySet):
    def of(self, club: Club) -> AddedToQuerySet:
        return self.filter(player__squad__club=club)

    def update(self, **values: Any) -> int:
        raise TypeError("these rows are never changed: add a new one")


class AddedTo(models.Model):
    """Rows that are never changed."""

    objects = AddedToQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("this row is never changed: add a new one")
        super().save(*args, **kwargs)


class Reply(AddedTo):
    """What somebody said before a night: he comes, for all of it or from or until a time at the club; or not.

    There is no column for a reason. `entered_by` is empty where he answered himself, through his own link.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="replies")
    session = models.ForeignKey(SESSION, on_delete=models.CASCADE, related_name="replies")
    coming = models.BooleanField(_("comes"))
    from_time = models.TimeField(_("from"), null=True, blank=True)
    until_time = models.TimeField(_("until"), null=True, blank=True)
    said_by = models.CharField(_("told by"), max_length=120)
    entered_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    said_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["said_at", "pk"]
        indexes = [models.Index(fields=["session", "player"], name="reply_by_session_and_player")]
        constraints = [
            models.CheckConstraint(condition=~Q(said_by=""), name="reply_names_who_said_it"),
            models.CheckConstraint(
                condition=Q(coming=True) | Q(from_time__isnull=True, until_time__isnull=True),
                name="reply_no_has_no_time",
            ),
            models.CheckConstraint(
                condition=Q(from_time__isnull=True) | Q(until_time__isnull=True) | Q(until_time__gt=F("from_time")),
                name="reply_leaves_after_he_comes",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.session}: {self.words}"

    @property
    def words(self) -> str:
        return said_words(self.coming, self.from_time, self.until_time)


def said_words(coming: bool, from_time: dt.time | None, until_time: dt.time | None) -> str:
    """yes, no, from 19:35, until 20:10, from 19:35 until 20:10."""
    if not coming:
        return str(_("no"))
    parts = ((_("from %(time)s"), from_time), (_("until %(time)s"), until_time))
    return " ".join(word % {"time": f"{at:%H:%M}"} for word, at in parts if at) or str(_("yes"))


class MarkState(models.TextChoices):
    """What a tap says of a player; OPEN takes back what was tapped."""

    HERE = presence.HERE, _("here")
    LATE = presence.LATE, _("late")
    GONE = presence.GONE, _("gone")
    AWAY = presence.AWAY, _("not here")
    OPEN = presence.OPEN, _("not marked")


class Mark(AddedTo):
    """One tap on the night. `key` is made where it was tapped, so that sending it twice does no harm.

    `at` is the moment by the clock of that device; `seen` are the keys of the marks that whoever tapped had before
    him. planner.core.presence says which mark counts.
    """

    key = models.UUIDField(primary_key=True)
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="marks")
    session = models.ForeignKey(SESSION, on_delete=models.CASCADE, related_name="marks")
    state = models.CharField(max_length=5, choices=MarkState)
    at = models.DateTimeField()
    seen = models.JSONField(default=list, blank=True)
    received_at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    by_name = models.CharField(max_length=150)

    class Meta:
        ordering = ["at", "key"]
        indexes = [models.Index(fields=["session", "player"], name="mark_by_session_and_player")]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=MarkState.values), name="mark_state_known"),
            models.CheckConstraint(condition=~Q(by_name=""), name="mark_names_who_tapped"),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.session}: {self.get_state_display()}"

    def as_tap(self) -> presence.Tap:
        return presence.Tap(str(self.key), self.state, self.at, tuple(self.seen))
