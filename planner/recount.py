"""The kept sums of days counted anew from the record: where they differ, in words, and made equal again."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.record_days import LOAD, Difference, differences, settle
from planner.record_models import DayState
from planner.turns import take_turn
from shared import audit
from shared.models import User
from squads.models import Player, Squad

MINUTES = {"minutes": gettext_lazy("minutes of training"), "match_minutes": gettext_lazy("minutes in matches")}
HUNDREDTHS = {
    "full": gettext_lazy("full contact"),
    "controlled": gettext_lazy("controlled contact"),
    "set_piece": gettext_lazy("live set piece"),
    "declared_full": gettext_lazy("declared full contact"),
    "declared_controlled": gettext_lazy("declared controlled contact"),
    "declared_set_piece": gettext_lazy("declared live set piece"),
}
TOLD_IN_AUDIT = 50  # of the differences, in words; how many there were is always told


@transaction.atomic
def mend(*, squad: Squad, by: User | str, first: dt.date, last: dt.date) -> list[Difference]:
    """Make the kept sums of these days those of the record; returns what differed. Nothing is written where all is
    equal. Only sums are touched, never a row of the record."""
    squad = take_turn(squad)
    found = differences(squad, first, last)
    days = sorted({each.day for each in found})
    for day in days:
        settle(squad, day, day)
    if found:
        audit.record(
            squad.club, "recounted days", squad, by=by,
            days=[day.isoformat() for day in days], count=len(found), was=words_of(found[:TOLD_IN_AUDIT]),
        )  # fmt: skip
    return found


def words_of(found: Iterable[Difference]) -> list[str]:
    """A line for each, by name; in one query."""
    found = list(found)
    names = {player.pk: str(player) for player in Player.objects.filter(pk__in={each.player for each in found})}
    return [difference_words(each, names[each.player]) for each in found]


def difference_words(each: Difference, name: str) -> str:
    told = {"player": name, "day": date_format(each.day, "D j M Y")}
    what, kept, record = amounts(each)
    return _("%(player)s, %(day)s: %(what)s is kept as %(kept)s, the record says %(record)s") % (
        told | {"what": what, "kept": kept, "record": record}
    )


def amounts(each: Difference) -> tuple[str, str, str]:
    """What it is, and both figures with their unit."""
    if each.what in HUNDREDTHS:
        return str(HUNDREDTHS[each.what]), *(f"{much / 100:.2f} min" for much in (each.kept, each.record))
    if each.what == LOAD:
        return _("load"), *(load_words(much) for much in (each.kept, each.record))
    if each.what in MINUTES:
        return str(MINUTES[each.what]), *(f"{much} min" for much in (each.kept, each.record))
    return _("how sure it is"), *(str(DayState(state).label) for state in (each.kept, each.record))


def load_words(load: Any) -> str:
    return _("not known") if load is None else f"{load:g} AU"
