"""Forms of a night that changes or ends."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from planner.core.scope import Scope
from planner.forms.calendar import NightForm, day_field

SCOPES = {
    Scope.ONE: _("only this session"),
    Scope.LATER: _("this and later"),
    Scope.ALL: _("all of this season that are not past"),
}


class ChangeNightForm(NightForm):
    """A night as it should be, and how far that reaches. `was`: the digest of the night that the person saw;
    `though_broken` is ticked on the page before the change, where sessions stay for the sake of a rule.
    """

    scope = forms.ChoiceField(label=_("What changes"), widget=forms.RadioSelect)
    from_day = day_field(
        _("From this day on"),
        required=False,
        help_text=_("For “this and later”. Whole weeks change, from its night on."),
    )
    was = forms.CharField(widget=forms.HiddenInput)
    though_broken = forms.BooleanField(widget=forms.HiddenInput, required=False)

    field_order = ["scope", "from_day", "weekday", "starts"]

    def __init__(self, *args: Any, has_session: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["first_day"], self.fields["last_day"]
        offered = SCOPES if has_session else {Scope.LATER: _("from a day on"), Scope.ALL: SCOPES[Scope.ALL]}
        self.fields["scope"].choices = list(offered.items())
        if has_session:
            del self.fields["from_day"]

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        asks_for_a_day = given.get("scope") == Scope.LATER and "from_day" in self.fields
        if asks_for_a_day and not given.get("from_day") and "from_day" not in self.errors:
            self.add_error("from_day", _("From which day on?"))
        return given


class EndNightForm(forms.Form):
    from_day = day_field(_("No more from this day on"))
    was = forms.CharField(widget=forms.HiddenInput)
