"""A squad with one night that is planned, one match, and people who read their calendars."""

from __future__ import annotations

from django.urls import reverse

from planner.feed_actions import give_member_feed, give_player_feeds
from planner.models import Place, Station
from shared.models import Membership
from tests import factories as f


def planned_night(squad, **values):
    """Tuesday at seven: a warm-up, then two stations, with a player at one of them."""
    values = {"pitch": "Pitch 2", "aims": ["Stay square"], "notes": "Physio says rest"} | values
    session = f.SessionFactory(squad=squad, slots=[(10, "Warm-up"), 15, 12], **values)
    slot = session.slots.get(order=1)
    drill = f.DrillFactory(club=squad.club, name="Gate and chase")
    station = Station.objects.create(slot=slot, drill=drill, coach="T. Fenwright")
    Station.objects.create(slot=slot, order=1, drill=f.DrillFactory(club=squad.club, name="Two on one"))
    player = f.PlayerFactory(squad=squad, given_name="Oswin", family_name="Hartlebury")
    Place.objects.create(station=station, slot=slot, player=player)
    return session


def member_address(user) -> str:
    return path_of(give_member_feed(membership=Membership.objects.get(user=user), by=user))


def player_address(player) -> str:
    user = Membership.objects.filter(club=player.squad.club).first().user
    return path_of(give_player_feeds(players=[player], by=user)[0].token)


def path_of(token: str) -> str:
    return reverse("feed", kwargs={"token": token})


def unfolded(content: bytes) -> list[str]:
    return content.replace(b"\r\n ", b"").decode().split("\r\n")[:-1]
