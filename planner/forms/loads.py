"""What a club chooses of its figures of load."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from planner.core.load import Deviation
from planner.load_models import DEVIATION_CHOICES


class DeviationForm(forms.Form):
    deviation = forms.TypedChoiceField(
        label=_("Standard deviation of monotony"),
        choices=DEVIATION_CHOICES,
        coerce=Deviation,
        widget=forms.RadioSelect,
    )
    why = forms.CharField(label=_("Why"), max_length=200, required=False, help_text=_("one line, for the record"))
