"""Who holds the secret address of his own page: a player without an account."""

from __future__ import annotations

from django.db import models
from django.db.models.functions import Length
from django.db.models.lookups import Exact

from shared.models import Club, User
from shared.tokens import DIGEST_LENGTH
from squads.models import Player


class PlayerLinkQuerySet(models.QuerySet):
    def of(self, club: Club) -> PlayerLinkQuerySet:
        return self.filter(player__squad__club=club)

    def with_player(self) -> PlayerLinkQuerySet:
        return self.select_related("player__squad__club")


class PlayerLink(models.Model):
    """A player's own page. Without the row its address opens nothing; with a new digest the old one opens nothing.

    `opened_on`: the last day on which somebody opened it.
    """

    player = models.OneToOneField(Player, on_delete=models.CASCADE, related_name="link")
    digest = models.CharField(max_length=DIGEST_LENGTH, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    opened_on = models.DateField(null=True)

    objects = PlayerLinkQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Exact(Length("digest"), DIGEST_LENGTH), name="link_keeps_a_whole_digest")
        ]

    def __str__(self) -> str:
        return str(self.player)
