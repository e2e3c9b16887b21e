"""The form of a venue."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from planner.venue_models import Venue


class VenueForm(forms.ModelForm):
    class Meta:
        model = Venue
        fields = ("name", "directions", "zone", "latitude", "longitude", "floodlit")
        widgets = {"directions": forms.Textarea(attrs={"rows": 3})}
        help_texts = {
            "zone": _("Times there are those of this clock. Written like Europe/London."),
            "latitude": _("Degrees, north is positive: 51.4779."),
            "longitude": _("Degrees, east is positive: west of Greenwich it begins with a minus."),
            "floodlit": _("A night may say besides when the lights go off."),
        }

    def clean_name(self) -> str:
        return " ".join(self.cleaned_data["name"].split())

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        known = [name for name in ("latitude", "longitude") if given.get(name) is not None]
        if len(known) == 1 and not self.errors.keys() & {"latitude", "longitude"}:
            missing = "longitude" if known == ["latitude"] else "latitude"
            self.add_error(missing, _now("A position needs both degrees. Give this one too, or empty the other."))
        return given
