"""What is entered in confidence. Browsers are asked to remember none of it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from squads.forms import DayField
from squads.medical_models import Ground, MedicalKeeping, MedicalNote


class NoteForm(forms.ModelForm):
    class Meta:
        model = MedicalNote
        fields = ["text"]
        help_texts = {"text": _("reason, symptoms, letters; only what is needed")}
        widgets = {"text": forms.Textarea(attrs={"autocomplete": "off", "rows": 6})}


class ConsentForm(forms.Form):
    given = forms.TypedChoiceField(
        label=_("The welfare officer may read the notes"),
        choices=[("yes", _("yes, consent is given")), ("no", _("no, or no longer"))],
        coerce=lambda answer: answer == "yes",
        widget=forms.RadioSelect,
    )
    said_by = forms.CharField(
        label=_("Said by"), max_length=80, help_text=_("the player, or by name who speaks for a minor")
    )
    said_on = DayField(label=_("On"))


class AskForm(forms.Form):
    """On which ground somebody who has no medical role reads notes."""

    ground = forms.ChoiceField(
        label=_("Ground"),
        choices=[(ground.value, ground.label) for ground in (Ground.CONSENT, Ground.SAFEGUARDING)],
        widget=forms.RadioSelect,
    )
    need = forms.CharField(
        label=_("The safeguarding need"),
        max_length=200,
        required=False,
        help_text=_("in a few words; only with this ground"),
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if data.get("ground") == Ground.SAFEGUARDING and not data.get("need", "").strip():
            self.add_error("need", _("Name the safeguarding need."))
        return data


class KeepingForm(forms.ModelForm):
    months = forms.IntegerField(
        label=_("Months that a note is kept"),
        min_value=1,
        max_value=600,
        help_text=_("as the policy of the club or union says"),
    )

    class Meta:
        model = MedicalKeeping
        fields = ["months"]
