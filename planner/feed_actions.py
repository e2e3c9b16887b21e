"""Addresses of calendar feeds: given out, exchanged, taken back. The record says for whom, never the address."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from planner.feed_models import Feed
from shared import audit
from shared.clock import today_at
from shared.models import Club, Membership, User
from shared.tokens import digest_of, new_token
from squads.models import Player, Squad


@dataclass(frozen=True, slots=True)
class Given:
    """An address just given out: the only moment at which its token is known."""

    player: Player
    token: str


@transaction.atomic
def give_member_feed(*, membership: Membership, by: User) -> str:
    """A new token for the member's calendar. The one before it, if any, opens nothing from now on."""
    return give(membership.club, membership.user, by, membership=membership)


@transaction.atomic
def give_player_feeds(*, players: Iterable[Player], by: User) -> list[Given]:
    """The same for players, who need no account; all of them or, if something fails, none."""
    return [Given(player, give(player.squad.club, player, by, player=player)) for player in players]


@transaction.atomic
def revoke_feed(*, feed: Feed, by: User) -> None:
    """Its address opens nothing from now on."""
    gone, _rows = Feed.objects.filter(pk=feed.pk).delete()
    if gone:
        audit.record(feed.club, "revoked calendar feed", feed, by=by)


def give(club: Club, whose: User | Player, by: User, **owner: Membership | Player) -> str:
    token = new_token()
    values = {"digest": digest_of(token), "made_at": timezone.now(), "made_by": by, "read_on": None}
    _feed, made = Feed.objects.update_or_create(**owner, defaults=values)
    audit.record(club, "made calendar feed" if made else "rotated calendar feed", whose, by=by)
    return token


def players_now(squad: Squad) -> list[Player]:
    """Who may have a feed: the players of the squad who have not left, by name."""
    today = today_at(squad.club)
    players = squad.players.select_related("squad__club", "feed").order_by("family_name", "given_name", "pk")
    return [player for player in players if not player.has_left_by(today)]
