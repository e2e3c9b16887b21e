"""What may be asked of the rows of a library. Every question can be put on top of every other."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping

from django.db import models
from django.db.models import ExpressionWrapper, F, IntegerField, Q, TextField
from django.db.models.functions import Cast, Coalesce
from django.db.models.lookups import GreaterThanOrEqual

from drills.core.folding import fold
from drills.core.kit import lacks
from shared.models import Club

LISTED = (
    "club", "number", "name", "retired_on", "rung", "rpe", "players_least", "players_most", "minutes_least",
    "minutes_most",
)  # fmt: skip


class OfClubQuerySet(models.QuerySet):
    def of(self, club: Club) -> OfClubQuerySet:
        return self.filter(club=club)

    def current(self) -> OfClubQuerySet:
        return self.filter(retired_on__isnull=True)

    def retired(self) -> OfClubQuerySet:
        return self.filter(retired_on__isnull=False)


class DrillQuerySet(OfClubQuerySet):
    def for_list(self) -> DrillQuerySet:
        return self.only(*LISTED).prefetch_related("skill_shares__skill")

    def for_card(self) -> DrillQuerySet:
        return self.select_related("ladder", "club").prefetch_related("skill_shares__skill")

    def saying(self, words: str, skills: Mapping[int, str]) -> DrillQuerySet:
        """Drills in whose number, texts or skills every one of the words stands, whatever its case and accents.

        `skills` holds the folded names of the club's skills by their keys.
        """
        found = self
        for word in words.split():
            folded = fold(word)
            said = Q(text__folded__contains=folded)
            if named := [key for key, name in skills.items() if folded in name]:
                said |= Q(pk__in=self._with(skill_shares__skill__in=named))
            if word.lstrip("#").isdecimal():
                said |= Q(number=min(int(word.lstrip("#")[:9]), 99_999))
            found = found.filter(said)
        return found

    def teaching(self, skill: str) -> DrillQuerySet:
        return self.filter(skill_shares__skill__code=skill)

    def of_family(self, family: str) -> DrillQuerySet:
        return self.filter(pk__in=self._with(skill_shares__skill__family=family))

    def on_rung(self, rung: str) -> DrillQuerySet:
        return self.filter(rung=rung)

    def on_ladder(self, ladder: str) -> DrillQuerySet:
        return self.filter(ladder__code=ladder)

    def fitting(self, group: str) -> DrillQuerySet:
        """Drills for a position group, or for all. Compared as text: SQLite cannot look into a list."""
        quoted = self.annotate(groups_text=Cast("groups", TextField()))
        return quoted.filter(Q(groups_text__contains=f'"{group}"') | Q(groups_text__contains='"all"'))

    def for_players(self, players: int) -> DrillQuerySet:
        return self.filter(players_least__lte=players, players_most__gte=players)

    def within(self, minutes: int) -> DrillQuerySet:
        return self.filter(minutes_least__lte=minutes)

    def for_age(self, grade: int) -> DrillQuerySet:
        """Drills for players under so many years, U14 being 14."""
        return self.filter(age_from__lte=grade)

    def on_ground(self, width: int, length: int, players: int | None = None) -> DrillQuerySet:
        """Drills whose grids fit a rectangle (in metres), all laid the same way round; for the fewest players if
        none are named."""
        heads = F("players_least") if players is None else players
        per = Coalesce(F("grid_per"), heads, output_field=IntegerField())
        grids = _whole((heads + per - 1) / per)
        upright = _whole(width / F("grid_width")) * _whole(length / F("grid_length"))
        across = _whole(width / F("grid_length")) * _whole(length / F("grid_width"))
        return self.filter(Q(GreaterThanOrEqual(upright, grids)) | Q(GreaterThanOrEqual(across, grids)))

    def with_kit(self, store: Mapping[str, int], players: int | None = None) -> DrillQuerySet:
        """Drills that a store has the kit for; what the store does not count it has enough of.

        Looks the drills through at once, and goes on with those that passed.
        """
        asked: dict[tuple[str, int], list[int]] = {}  # many cards ask for the same kit, and it is dear to read
        lines = self.order_by().annotate(kit_text=Cast("kit", TextField()))
        for key, kit, least in lines.values_list("pk", "kit_text", "players_least"):
            asked.setdefault((kit, players or least), []).append(key)
        passed = [keys for (kit, heads), keys in asked.items() if not lacks(json.loads(kit), heads, store)]
        return self.model.objects.filter(pk__in=[key for keys in passed for key in keys])

    def apart_from(self, drills: Iterable[int]) -> DrillQuerySet:
        return self.exclude(pk__in=drills)

    def _with(self, **what: object) -> models.QuerySet:
        """Keys of all drills with such rows of their own; asked apart, so that no drill is found twice."""
        return self.model.objects.order_by().filter(**what).values("pk")


def _whole(number: models.expressions.Combinable) -> ExpressionWrapper:
    """Whole numbers divided give a whole number, rounded down, on SQLite as on PostgreSQL."""
    return ExpressionWrapper(number, output_field=IntegerField())
