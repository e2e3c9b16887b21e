"""Drills of a club by the number in an address; anything else does not exist."""

from __future__ import annotations

from django.shortcuts import get_object_or_404

from drills.models import Drill
from shared.models import Club


def drill_of(club: Club, number: int) -> Drill:
    return get_object_or_404(Drill.objects.of(club).for_card().select_related("adapted_from"), number=number)
