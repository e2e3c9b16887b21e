"""Players with an own page."""

from __future__ import annotations

import datetime as dt

from django.urls import reverse

from planner.link_actions import give_links
from shared.models import Membership
from squads.models import Player

MONDAY = dt.date(2026, 10, 5)


def own_address(player: Player) -> str:
    by = Membership.objects.filter(club=player.squad.club).first().user
    return reverse("own", kwargs={"token": give_links(players=[player], by=by)[0].token})


def says(session, says: str, answers: int = 0, comes_at: str = "", leaves_at: str = "") -> dict[str, object]:
    """What a button of one night sends."""
    times = {f"from-{session.pk}": comes_at, f"until-{session.pk}": leaves_at}
    return {"session": session.pk, "answers": answers, f"says-{session.pk}": says, **times}
