"""What people may ask of the library."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from drills.core.folding import fold
from drills.models import DrillQuerySet, Family, Ladder, Skill, Store
from shared.core.contact import RUNGS
from shared.models import Club

ANY = [("", _("any"))]
RUNG_CHOICES = [(rung.code, f"{rung.code} {rung.name}") for rung in RUNGS.values()]
FILTERS: dict[str, Callable[[DrillQuerySet, Any], DrillQuerySet]] = {
    "skill": DrillQuerySet.teaching,
    "family": DrillQuerySet.of_family,
    "rung": DrillQuerySet.on_rung,
    "group": DrillQuerySet.fitting,
    "players": DrillQuerySet.for_players,
    "minutes": DrillQuerySet.within,
    "ladder": DrillQuerySet.on_ladder,
    "age": DrillQuerySet.for_age,
}
ALWAYS_SHOWN = ("q", "players", "minutes")
MORE = (("skill", "family", "rung", "ladder", "group"), ("width", "length", "age", "unused"), ("store", "retired"))

Used = Callable[[Club, int], Iterable[int]]  # keys of the drills that ran in the last so many weeks


def group_choices(club: Club) -> list[tuple[str, str]]:
    return [(code, f"{code} {name}") for code, name in club.names.groups.items()]


class FindForm(forms.Form):
    """The filter of the library. Everything in it is optional, and it stands in the address."""

    q = forms.CharField(label=_("Words or number"), required=False, max_length=100)
    players = forms.IntegerField(label=_("Players I have"), required=False, min_value=1, max_value=99)
    minutes = forms.IntegerField(label=_("Minutes I have"), required=False, min_value=1, max_value=240)
    skill = forms.ChoiceField(label=_("Skill"), required=False)
    family = forms.ChoiceField(label=_("Family of skills"), required=False, choices=ANY + list(Family.choices))
    rung = forms.ChoiceField(label=_("Rung"), required=False, choices=ANY + RUNG_CHOICES)
    ladder = forms.ChoiceField(label=_("Ladder"), required=False)
    group = forms.ChoiceField(label=_("Position group"), required=False)
    width = forms.IntegerField(label=_("Grass I have: width, m"), required=False, min_value=1, max_value=200)
    length = forms.IntegerField(label=_("and length, m"), required=False, min_value=1, max_value=200)
    age = forms.IntegerField(label=_("Age grade: under"), required=False, min_value=6, max_value=60)
    unused = forms.IntegerField(label=_("Not run for so many weeks"), required=False, min_value=1, max_value=520)
    store = forms.BooleanField(label=_("Only with the kit in our store"), required=False)
    retired = forms.BooleanField(label=_("Retired drills instead"), required=False)

    def __init__(self, data: QueryDict, *, club: Club, used: Used | None = None) -> None:
        super().__init__(data, label_suffix="")
        self.club, self.used = club, used
        skills = Skill.objects.of(club).current()
        ladders = Ladder.objects.of(club).current()
        self.fields["skill"].choices = [*ANY, *((skill.code, str(skill)) for skill in skills)]
        self.fields["ladder"].choices = [*ANY, *((ladder.code, str(ladder)) for ladder in ladders)]
        self.fields["group"].choices = ANY + group_choices(club)
        if used is None:
            del self.fields["unused"]

    @property
    def in_use(self) -> bool:
        return self.is_valid() and any(self.cleaned_data.values())

    @property
    def first(self) -> list[BoundField]:
        return [self[name] for name in ALWAYS_SHOWN]

    @property
    def more(self) -> Iterator[list[BoundField]]:
        for row in MORE:
            yield [self[name] for name in row if name in self.fields]

    @property
    def narrowed(self) -> bool:
        """Whether one of the choices beside words, players and minutes is in use: then they are shown open."""
        return any(self[name].data for name in self.fields if name not in ALWAYS_SHOWN)

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if bool(given.get("width")) != bool(given.get("length")) and not self.errors:
            raise ValidationError(_("Grass has a width and a length: fill in both, or neither."))
        return given

    def found_in(self, drills: DrillQuerySet) -> DrillQuerySet:
        """The drills that pass every filter; none as long as one of them makes no sense."""
        if not self.is_valid():
            return drills.none()
        given = self.cleaned_data
        drills = drills.retired() if given["retired"] else drills.current()
        for name, narrowed in FILTERS.items():
            if wanted := given[name]:
                drills = narrowed(drills, wanted)
        return self._matched(drills, given)

    def _matched(self, drills: DrillQuerySet, given: dict[str, Any]) -> DrillQuerySet:
        """What asks more than the drill's own row: the words of its skills, the store, the calendar."""
        if given["q"]:
            drills = drills.saying(given["q"], folded_skills(self.club))
        if given["width"]:
            drills = drills.on_ground(given["width"], given["length"], given["players"])
        if given.get("unused"):
            drills = drills.apart_from(self.used(self.club, given["unused"]))
        if given["store"]:
            drills = drills.with_kit(store_of(self.club), given["players"])
        return drills


def folded_skills(club: Club) -> dict[int, str]:
    return {key: fold(name) for key, name in Skill.objects.of(club).values_list("pk", "name")}


def store_of(club: Club) -> dict[str, int]:
    return Store.objects.filter(club=club).values_list("kit", flat=True).first() or {}


class PackUploadForm(forms.Form):
    file = forms.FileField(label=_("File"), help_text=_("a drill pack in JSON, at most 2 MB"))
