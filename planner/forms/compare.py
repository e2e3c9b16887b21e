"""Which two plans of a block to lay side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.models import PlanRun

STANDING = "now"


class CompareForm(forms.Form):
    left = forms.ChoiceField(label=gettext_lazy("This plan"))
    right = forms.ChoiceField(label=gettext_lazy("beside this one"))

    def __init__(self, *args: Any, runs: Sequence[PlanRun], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.runs = {str(run.pk): run for run in runs}
        self.names = {STANDING: _("The programme as it stands")} | {key: named(run) for key, run in self.runs.items()}
        for field in ("left", "right"):
            self.fields[field].choices = list(self.names.items())
            self.fields[field].error_messages["invalid_choice"] = _("Choose one of the plans of this block.")

    def run(self, field: str) -> PlanRun | None:
        """None: what stands now."""
        return self.runs.get(self.cleaned_data[field])

    def name(self, field: str) -> str:
        return self.names[self.cleaned_data[field]]


def named(run: PlanRun) -> str:
    made = date_format(timezone.localtime(run.made_at), "D j M H:i")
    if run.is_redeal:
        text = _("Dealt again %(made)s, %(by)s") if run.made_by else _("Dealt again %(made)s")
    else:
        text = _("Run of %(made)s, %(seconds)d s, %(by)s") if run.made_by else _("Run of %(made)s, %(seconds)d s")
    named = text % {"made": made, "seconds": run.seconds, "by": run.made_by}
    return _("%(run)s (accepted)") % {"run": named} if run.accepted_at else named
