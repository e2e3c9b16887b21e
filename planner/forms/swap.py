"""The form of groups that swap: which cards in which slots, and how long a round is."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from drills.models import Drill
from planner.programme import slot_name
from planner.slot_plans import MOST_MINUTES
from planner.swapping import CHANGE, Asked, Evening


class SwapForm(forms.Form):
    """Begins with what stands: the cards and the minutes of the chosen slots."""

    drills = forms.ModelMultipleChoiceField(
        Drill.objects.none(), label=_("Cards that every group comes to"), widget=forms.CheckboxSelectMultiple
    )
    slots = forms.MultipleChoiceField(label=_("In place of"), widget=forms.CheckboxSelectMultiple)
    minutes = forms.IntegerField(label=_("Minutes of a round"), min_value=1, max_value=60)
    change = forms.FloatField(
        label=_("Minutes to change over"), min_value=0, max_value=10, initial=CHANGE, widget=forms.NumberInput
    )
    in_all = forms.IntegerField(label=_("Minutes of the whole night"), min_value=1, max_value=MOST_MINUTES)

    def __init__(self, *args: Any, evening: Evening, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.evening = evening
        keys = [drill.pk for drill in evening.drills]
        self.fields["drills"].queryset = Drill.objects.filter(pk__in=keys)
        names = [(str(slot.pk), slot_name(evening.session, slot)) for slot in evening.ahead]
        self.fields["slots"].choices = names

    @classmethod
    def usual(cls, evening: Evening) -> dict[str, Any]:
        return {
            "drills": [str(key) for key in evening.usual_drills],
            "slots": [str(slot.pk) for slot in evening.slots],
            "minutes": evening.usual_minutes,
            "change": CHANGE,
            "in_all": evening.minutes,
        }

    @property
    def asked(self) -> Asked:
        """Cards in the order in which they stand on the night."""
        given = self.cleaned_data
        chosen = {drill.pk for drill in given["drills"]}
        drills = tuple(drill for drill in self.evening.drills if drill.pk in chosen)
        return Asked(drills, given["minutes"], given["change"], given["in_all"])
