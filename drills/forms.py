"""What people may ask of the library."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from drills.models import DrillQuerySet, Ladder, Skill
from shared.core.contact import RUNGS
from shared.core.positions import GROUP_NAMES
from shared.models import Club

ANY = [("", _("any"))]
GROUP_CHOICES = [(code, f"{code} {name}") for code, name in GROUP_NAMES.items()]
RUNG_CHOICES = [(rung.code, f"{rung.code} {rung.name}") for rung in RUNGS.values()]
FILTERS: dict[str, Callable[[DrillQuerySet, Any], DrillQuerySet]] = {
    "q": DrillQuerySet.saying,
    "skill": DrillQuerySet.teaching,
    "rung": DrillQuerySet.on_rung,
    "group": DrillQuerySet.fitting,
    "players": DrillQuerySet.for_players,
    "minutes": DrillQuerySet.within,
    "ladder": DrillQuerySet.on_ladder,
}


class FindForm(forms.Form):
    """The filter of the library. Everything in it is optional, and it stands in the address."""

    q = forms.CharField(label=_("Words or number"), required=False, max_length=100)
    players = forms.IntegerField(label=_("Players I have"), required=False, min_value=1, max_value=99)
    minutes = forms.IntegerField(label=_("Minutes I have"), required=False, min_value=1, max_value=240)
    skill = forms.ChoiceField(label=_("Skill"), required=False)
    rung = forms.ChoiceField(label=_("Rung"), required=False, choices=ANY + RUNG_CHOICES)
    group = forms.ChoiceField(label=_("Position group"), required=False, choices=ANY + GROUP_CHOICES)
    ladder = forms.ChoiceField(label=_("Ladder"), required=False)
    retired = forms.BooleanField(label=_("Retired drills instead"), required=False)

    def __init__(self, data: QueryDict, *, club: Club) -> None:
        super().__init__(data, label_suffix="")
        skills = Skill.objects.of(club).current()
        self.fields["skill"].choices = [*ANY, *((skill.code, str(skill)) for skill in skills)]
        self.fields["ladder"].choices = [*ANY, *((ladder.code, str(ladder)) for ladder in Ladder.objects.of(club))]

    @property
    def in_use(self) -> bool:
        return self.is_valid() and any(self.cleaned_data.values())

    @property
    def narrowed(self) -> bool:
        """Whether one of the choices beside words, players and minutes is in use: then they are shown open."""
        return any(self[name].data for name in ("skill", "rung", "group", "ladder", "retired"))

    def found_in(self, drills: DrillQuerySet) -> DrillQuerySet:
        """The drills that pass every filter; none as long as one of them makes no sense."""
        if not self.is_valid():
            return drills.none()
        drills = drills.retired() if self.cleaned_data["retired"] else drills.current()
        for name, narrowed in FILTERS.items():
            if wanted := self.cleaned_data[name]:
                drills = narrowed(drills, wanted)
        return drills


class PackUploadForm(forms.Form):
    file = forms.FileField(label=_("File"), help_text=_("a drill pack in JSON, at most 2 MB"))
