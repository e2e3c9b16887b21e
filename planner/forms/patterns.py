"""Forms of the club's patterns and of putting one on a week."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from drills.models import Skill
from planner.pattern_models import Pattern
from shared.models import Club

AIMS = ("name", "fits", "defence_minutes", "touch_minutes", "mean_rpe", "skills")
LIMITS = ("controlled_minutes", "full_minutes", "set_piece_minutes", "full_days")
NEAR_MATCHES = ("full_first", "full_before", "full_after", "controlled_before", "controlled_after")


class PatternForm(forms.ModelForm):
    class Meta:
        model = Pattern
        fields = (*AIMS, *LIMITS, *NEAR_MATCHES, "source", "notes")
        widgets = {"notes": forms.Textarea(attrs={"rows": 3}), "skills": forms.SelectMultiple(attrs={"size": 8})}

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.club = club
        self.fields["skills"].queryset = Skill.objects.filter(club=club, retired_on=None)
        self.fields["full_days"].widget.attrs["max"] = 7
        self.fields["mean_rpe"].widget.attrs.update(min=0, max=10)

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        if Pattern.objects.of(self.club).filter(name=name).exclude(pk=self.instance.pk).exists():
            raise ValidationError(_("The club has a pattern of that name already. Choose another name."))
        return name

    def clean_full_days(self) -> int | None:
        days = self.cleaned_data["full_days"]
        if days is not None and days > 7:
            raise ValidationError(_("A week has seven days."))
        return days

    def clean_mean_rpe(self) -> Any:
        rpe = self.cleaned_data["mean_rpe"]
        if rpe is not None and not 0 <= rpe <= 10:
            raise ValidationError(_("RPE goes from 1 to 10 here."))
        return rpe

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        first, last = given.get("full_first"), given.get("full_before")
        if first is not None and last is not None and first < last:
            self.add_error(
                "full_first", _now("Full contact would end before it begins: give at least as many days as below.")
            )
        return given

    def of(self, names: tuple[str, ...]) -> list[forms.BoundField]:
        return [self[name] for name in names]

    @property
    def aims(self) -> list[forms.BoundField]:
        return self.of(AIMS)

    @property
    def limits(self) -> list[forms.BoundField]:
        return self.of(LIMITS)

    @property
    def near_matches(self) -> list[forms.BoundField]:
        return self.of(NEAR_MATCHES)

    @property
    def others(self) -> list[forms.BoundField]:
        return self.of(("source", "notes"))


class PutForm(forms.Form):
    pattern = forms.ModelChoiceField(Pattern.objects.none(), label=_("Pattern"), empty_label=None)

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pattern"].queryset = Pattern.objects.of(club).on_offer()
