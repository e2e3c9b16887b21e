"""The form of a night as it is found on the field."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from planner.forms.calendar import GrassForm, clock_field
from planner.models import Session
from planner.tonight_actions import helpers_of
from planner.tonight_models import Found


class FoundForm(GrassForm):
    """Coaches, grass, light and kit, beginning with what the session holds. Nobody under 18 counts as a coach."""

    pitch = coaches = None  # these do not change on the field, or are counted below

    names = forms.MultipleChoiceField(
        label=_("Adult coaches who are here"), required=False, widget=forms.CheckboxSelectMultiple
    )
    more = forms.CharField(
        label=_("Other adult coaches by name"),
        max_length=200,
        required=False,
        help_text=_("With a comma between two"),
    )
    unnamed = forms.IntegerField(label=_("Further adult coaches, not named"), min_value=0, max_value=20, initial=0)
    helpers = forms.IntegerField(
        label=_("Helpers under 18"),
        min_value=0,
        max_value=20,
        initial=0,
        help_text=_("They help at a station, and never run one alone."),
    )
    lights_until = clock_field(_("Light until"), required=False)

    field_order = ["names", "more", "unnamed", "helpers", "stations", "width", "length", "lights_until"]

    def __init__(self, *args: Any, session: Session, **kwargs: Any) -> None:
        initial = {name: getattr(session, name) for name in ("stations", "width", "length", "lights_until")}
        here = list(session.coach_names)
        initial |= {"names": here, "unnamed": max(0, session.coaches - len(here)), "helpers": helpers_of(session)}
        super().__init__(*args, kit=session.kit, initial=initial, **kwargs)
        known = dict.fromkeys([*planned_names(session), *here])
        self.fields["names"].choices = [(name, name) for name in known]
        if not known:
            del self.fields["names"]

    def clean_more(self) -> list[str]:
        names = [" ".join(name.split()) for name in self.cleaned_data["more"].split(",") if name.strip()]
        if any(len(name) > 80 for name in names):
            raise ValidationError(_("Keep each name below 80 letters: it has to fit on the sheet."))
        return names

    def clean(self) -> dict[str, Any]:
        """By the names of the session's fields, and `helpers`."""
        given = super().clean()
        names = list(dict.fromkeys([*given.pop("names", ()), *given.pop("more", ())]))
        return given | {"coach_names": names, "coaches": len(names) + (given.pop("unnamed", None) or 0)}


def planned_names(session: Session) -> list[str]:
    first = Found.objects.filter(session=session).first()
    return first.was["coach_names"] if first else []
