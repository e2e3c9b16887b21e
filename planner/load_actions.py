"""Choosing how figures of load are reckoned."""

from __future__ import annotations

from django.db import transaction
from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.core.load import Deviation
from planner.load_models import DeviationChosen
from shared import audit
from shared.models import Club, User


def deviation_of(club: Club) -> Deviation:
    """The one that the club chose last, else that of a population."""
    chosen = DeviationChosen.objects.of(club).newest_first().values_list("deviation", flat=True).first()
    return Deviation(chosen) if chosen else Deviation.POPULATION


@transaction.atomic
def choose_deviation(*, club: Club, deviation: Deviation, why: str = "", by: User) -> DeviationChosen:
    """Adds a row; Refused if the club has that one already."""
    Club.objects.select_for_update().get(pk=club.pk)
    was = deviation_of(club)
    if was is deviation:
        raise Refused(_("Monotony divides by this one already. Nothing was changed."))
    row = DeviationChosen.objects.create(club=club, deviation=deviation.value, why=why, by=by, by_name=str(by))
    audit.record(club, "chose the deviation of monotony", club, by=by, was=was.value, now=deviation.value, why=why)
    return row
