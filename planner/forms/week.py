"""Forms of the week page: one for each edit of a night, with the version of it that the person saw."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from drills.models import Drill
from planner.models import Slot, Station
from squads.models import Player


class EditForm(forms.Form):
    version = forms.IntegerField(
        min_value=0,
        error_messages={"required": _("This form is too old. Open the week again."), "invalid": _("Open it again.")},
    )


class DrillForm(EditForm):
    drill = forms.ModelChoiceField(
        Drill.objects.none(),
        error_messages={"required": _("Choose a drill first."), "invalid_choice": _("No such drill in your library.")},
    )

    def __init__(self, *args: Any, slot: Slot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["drill"].queryset = Drill.objects.of(slot.session.squad.club)


class MoveForm(EditForm):
    """A player to a station of the slot; without one he stands nowhere."""

    player = forms.ModelChoiceField(
        Player.objects.none(),
        error_messages={"required": _("Choose a player first."), "invalid_choice": _("No such player in this squad.")},
    )
    to = forms.ModelChoiceField(
        Station.objects.none(),
        required=False,
        error_messages={"invalid_choice": _("That station is no longer there. Open the week again.")},
    )

    def __init__(self, *args: Any, slot: Slot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["player"].queryset = Player.objects.filter(squad=slot.session.squad_id)
        self.fields["to"].queryset = Station.objects.filter(slot=slot).select_related("drill")


class LockForm(EditForm):
    locked = forms.TypedChoiceField(choices=[("1", "1"), ("0", "0")], coerce=lambda given: given == "1")


class CoachForm(EditForm):
    coach = forms.CharField(max_length=80, required=False)


class ShownForm(forms.Form):
    """What of a week is asked for: a slot to edit, in it a station to swap, or a night alone as it is to be read."""

    night = forms.IntegerField(min_value=1, required=False)
    slot = forms.IntegerField(min_value=1, required=False)
    swap = forms.IntegerField(min_value=1, required=False)

    def chosen(self, field: str) -> int | None:
        return self.cleaned_data.get(field) if self.is_valid() else None
