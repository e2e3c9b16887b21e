"""Forms of the days without training."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile, UploadedFile
from django.utils.translation import gettext_lazy as _

from planner.break_imports import PASTED
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.forms.calendar import day_field
from planner.models import Break as BreakRow
from planner.models import Season
from planner.public_holidays import countries, regions


class BreakForm(forms.Form):
    """One break, within its season."""

    name = forms.CharField(
        label=_("Why"), max_length=BreakRow._meta.get_field("name").max_length, help_text=_("For example: half term")
    )
    first = day_field(_("First day"))
    last = day_field(_("Last day"), required=False, help_text=_("Empty: one day only"))

    def __init__(self, *args: Any, season: Season, gap: Break | None = None, **kwargs: Any) -> None:
        given = {"name": gap.name, "first": gap.days.first, "last": gap.days.last} if gap else {}
        super().__init__(*args, initial=given, **kwargs)
        self.season, self.gap = season, gap
        for name in ("first", "last"):
            self.fields[name].widget.attrs |= {"min": f"{season.first_day}", "max": f"{season.last_day}"}

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        first, last = given.get("first"), given.get("last") or given.get("first")
        if first and last and not self.errors:
            if last < first:
                self.add_error("last", _("It ends before it begins. Check both days."))
            for name, day in (("first", first), ("last", last)):
                if not self.season.first_day <= day <= self.season.last_day:
                    self.add_error(name, self.outside())
        return given

    def outside(self) -> ValidationError:
        days = {"first": self.season.first_day, "last": self.season.last_day}
        return ValidationError(_("This day lies outside the season (%(first)s to %(last)s)."), params=days)

    @property
    def wanted(self) -> Break:
        given, gap = self.cleaned_data, self.gap
        days = Stretch(given["first"], given["last"] or given["first"])
        name = " ".join(given["name"].split())
        return Break(name, days, gap.uid, gap.key) if gap else Break(name, days)


class BreaksImportForm(forms.Form):
    """Lines or a file, not both."""

    lines = forms.CharField(
        label=_("Lines"),
        required=False,
        max_length=50_000,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 6, "placeholder": "Half term; 26 Oct; 30 Oct"}),
        help_text=_("One break on each: name; first day; last day. A single day needs only its first."),
    )
    file = forms.FileField(
        label=_("Or a file"),
        required=False,
        help_text=_("A calendar (.ics), CSV or XLSX, at most 2 MB"),
        widget=forms.ClearableFileInput(attrs={"accept": ".ics,.csv,.txt,.xlsx,text/calendar"}),
    )

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        lines, file = (given.get("lines") or "").strip(), given.get("file")
        if not self.errors and bool(lines) == bool(file):
            raise ValidationError(_("Write lines or choose a file, one of the two."))
        return given

    @property
    def content(self) -> UploadedFile:
        given = self.cleaned_data
        return given["file"] or SimpleUploadedFile(PASTED, given["lines"].encode())


class PlaceForm(forms.Form):
    """Whose public holidays are offered. The parts of a country appear once it is chosen."""

    country = forms.ChoiceField(
        label=_("Country"),
        error_messages={"invalid_choice": _("“%(value)s” is no country whose holidays are known. Choose one.")},
    )
    region = forms.ChoiceField(
        label=_("Part of the country"),
        required=False,
        help_text=_("After another country, show its holidays first."),
        error_messages={"invalid_choice": _("“%(value)s” is no part of this country. Choose one, or all of it.")},
    )

    def __init__(self, *args: Any, place: tuple[str, str], **kwargs: Any) -> None:
        country, region = place
        super().__init__(*args, initial={"country": country, "region": region}, **kwargs)
        asked = self.data.get("country", country) if self.is_bound else country
        self.moves_on = self.is_bound and asked != country
        parts = regions(asked) if asked in dict(countries()) else ()
        self.fields["country"].choices = [("", _("choose")), *countries()]
        self.fields["region"].choices = [("", _("all of it")), *parts]
        if not parts:
            self.fields["region"].widget = forms.HiddenInput()

    def clean_region(self) -> str:
        return self.cleaned_data["region"]
