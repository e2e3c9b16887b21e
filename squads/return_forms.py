"""What medical roles and the welfare officer enter about a return to training. No field asks for a reason."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from squads.core.union_tables import UNIONS
from squads.forms import DayField
from squads.return_models import StepChoice


class DecidedForm(forms.Form):
    """Who decided, or saw it, and as what."""

    decided_by = forms.CharField(label=_("Decided by"), max_length=80, help_text=_("name of the person who decided"))
    decided_as = forms.CharField(
        label=_("As"), max_length=60, help_text=_("for example: first aider, physiotherapist, doctor")
    )


class StartReturnForm(DecidedForm):
    union = forms.ChoiceField(
        label=_("By which rules"),
        choices=[(key, _(name)) for key, name in UNIONS.items()],
        widget=forms.RadioSelect,
        help_text=_("A suspicion is treated like a certainty. The age on the day of the injury chooses the table."),
    )
    day = DayField(label=_("Day of the injury"), help_text=_("this day is Day 0"))
    field_order = ["union", "day"]


class SymptomFreeForm(forms.Form):
    day = DayField(label=_("First day without symptoms at rest"))


class SymptomsForm(DecidedForm):
    day = DayField(label=_("Day of the symptoms"), help_text=_("the last one, if there were several"))
    field_order = ["day"]


class AllowForm(DecidedForm):
    step = forms.ChoiceField(label=_("May begin with"), choices=StepChoice.choices, widget=forms.RadioSelect)
    from_day = DayField(label=_("From"))
    decided_on = DayField(label=_("Decided on"))
    field_order = ["step", "from_day"]


class CloseForm(DecidedForm):
    pass
