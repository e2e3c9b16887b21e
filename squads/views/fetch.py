"""Rows of a club by the words of an address; anything else does not exist."""

from __future__ import annotations

from django.shortcuts import get_object_or_404

from shared.models import Club
from squads.models import Player, Squad


def squad_of(club: Club, slug: str) -> Squad:
    return get_object_or_404(Squad.objects.select_related("club"), club=club, slug=slug)


def player_of(club: Club, key: int) -> Player:
    return get_object_or_404(Player.objects.of(club).select_related("squad__club"), pk=key)
