"""Addresses of players' own pages: given out, exchanged, taken back; and what a player says through his.

The record says for whom an address was made, never the address.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from planner.attendance_actions import Noted, Said, note_replies
from planner.attendance_models import Reply
from planner.changes import Refused
from planner.feed_actions import Given
from planner.link_models import PlayerLink
from planner.rpe_models import Rpe
from shared import audit
from shared.clock import today_at
from shared.models import User
from shared.tokens import digest_of, new_token
from squads.models import Player, Squad

AN_HOUR = dt.timedelta(hours=1)
# Answers are kept for ever, so whoever holds an address may not fill the disk. Ours; no source.
MOST_AN_HOUR = 40


class NoSuchLink(Exception):
    """The address was ended, or the player has left."""


@transaction.atomic
def give_links(*, players: Iterable[Player], by: User) -> list[Given]:
    """A new address for each. The one before it, if any, opens nothing from now on. All of them or none."""
    return [Given(player, give(player, by)) for player in players]


def give(player: Player, by: User) -> str:
    token = new_token()
    values = {"digest": digest_of(token), "made_at": timezone.now(), "made_by": by, "opened_on": None}
    _link, made = PlayerLink.objects.update_or_create(player=player, defaults=values)
    audit.record(player.squad.club, "made own page" if made else "rotated own page", player, by=by)
    return token


@transaction.atomic
def revoke_link(*, link: PlayerLink, by: User) -> None:
    """Its address opens nothing from now on."""
    gone, _rows = PlayerLink.objects.filter(pk=link.pk).delete()
    if gone:
        audit.record(link.player.squad.club, "revoked own page", link, by=by)


def players_now(squad: Squad) -> list[Player]:
    """Who may have an own page: the players of the squad who have not left, by name."""
    today = today_at(squad.club)
    players = squad.players.select_related("squad__club", "link").order_by("family_name", "given_name", "pk")
    return [player for player in players if not player.has_left_by(today)]


def note_opening(link: PlayerLink, today: dt.date) -> None:
    if link.opened_on != today:
        PlayerLink.objects.filter(pk=link.pk).update(opened_on=today)


@transaction.atomic
def reply_himself(*, link: PlayerLink, said: Said, today: dt.date | None = None) -> Noted:
    """What a player says of a night through his own page. Raises NoSuchLink and Refused."""
    held = hold(link)
    refuse_flood(held.player)
    return note_replies(said=[said], by=None, today=today)


def hold(link: PlayerLink) -> PlayerLink:
    """The link as it is now, kept so until the transaction ends: an address ended meanwhile says nothing any more."""
    held = PlayerLink.objects.select_for_update(of=("self",)).filter(pk=link.pk, digest=link.digest).first()
    if held is None:
        raise NoSuchLink
    return held


def refuse_flood(player: Player) -> None:
    since = timezone.now() - AN_HOUR
    replies = Reply.objects.filter(player=player, entered_by=None, said_at__gte=since).count()
    numbers = Rpe.objects.filter(player=player, himself=True, at__gte=since).count()
    if replies + numbers >= MOST_AN_HOUR:
        raise Refused(_("These are very many answers within an hour. Wait a while, or tell your coach."))
