"""What people may enter about limits: a request or note, its answer, what was done, who plays elsewhere too."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from planner.welfare_actions import Beyond
from planner.welfare_models import Did
from planner.welfare_words import beyond_words
from squads.forms import DayField

NO_HEALTH = _("about the plan and the work only: never an injury, a symptom or a reason of health")


class ExcessForm(forms.Form):
    """`beyond` are the figures that may be asked for."""

    chosen = forms.MultipleChoiceField(label=_("Whose limit"), widget=forms.CheckboxSelectMultiple)
    why = forms.CharField(label=_("Why"), max_length=300, help_text=NO_HEALTH)

    def __init__(self, *args: Any, beyond: Iterable[Beyond], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.beyond = {each.key: each for each in beyond}
        self.fields["chosen"].choices = [(key, beyond_words(each)) for key, each in self.beyond.items()]

    @property
    def asked(self) -> list[Beyond]:
        return [self.beyond[key] for key in self.cleaned_data["chosen"]]


class AnswerForm(forms.Form):
    """No answer is preselected."""

    approved = forms.TypedChoiceField(
        label=_("Your answer"),
        choices=[("yes", _("approve, for this one session only")), ("no", _("refuse"))],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
    )
    why = forms.CharField(label=_("Reason"), max_length=300, help_text=NO_HEALTH)


class ActionForm(forms.Form):
    did = forms.ChoiceField(label=_("What was done"), choices=Did.choices, widget=forms.RadioSelect)
    words = forms.CharField(label=_("In words"), max_length=300, required=False, help_text=NO_HEALTH)
    follow_up = DayField(label=_("Look again on"), required=False, help_text=_("empty: nothing is left to do"))

    def __init__(self, *args: Any, monday: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.monday = monday

    def clean_follow_up(self) -> dt.date | None:
        day = self.cleaned_data["follow_up"]
        if day and day < self.monday:
            raise ValidationError(_("This lies before the week itself. Mend the day."))
        return day

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if data.get("did") == Did.OTHER and not data.get("words"):
            self.add_error("words", _("Say in a few words what was done."))
        return data


class ElsewhereForm(forms.Form):
    plays = forms.TypedChoiceField(
        label=_("Plays or trains with another team"),
        choices=[("yes", _("yes, from this day on")), ("no", _("not any more"))],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
        initial="yes",
    )
    from_day = DayField(label=_("From"))
    where = forms.CharField(
        label=_("Where"), max_length=120, required=False, help_text=_("for example: school, county, sevens")
    )
    asked = forms.CharField(
        label=_("Who tells the minutes"), max_length=120, required=False, help_text=_("a name, or: the player")
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if data.get("plays") and not data.get("where"):
            self.add_error("where", _("Say where he plays or trains besides."))
        return data
