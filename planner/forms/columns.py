"""Which column of a list holds what."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.columns import ListOf, Reading
from shared.tables import Table

DAY_ORDERS = [
    ("day", gettext_lazy("day first: 31/10 is 31 October")),
    ("month", gettext_lazy("month first: 10/31 is 31 October")),
]


class ColumnsForm(forms.Form):
    """One choice among the headers for each thing that a row of the list has, and the order of day and month."""

    def __init__(self, *args: Any, of: ListOf, table: Table, chosen: Reading, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.of = of
        headers = [("", gettext_lazy("not in this list")), *((header, header) for header in table.headers)]
        proposed = chosen.columns if chosen.fits(table) else first_of(of.meant(table))
        for name, title in of.titles.items():
            self.fields[name] = forms.ChoiceField(
                label=str(title).capitalize(), choices=headers, required=False, initial=proposed.get(name, "")
            )
        self.fields["day_order"] = forms.ChoiceField(
            label=_("Dates in numbers"),
            choices=DAY_ORDERS,
            widget=forms.RadioSelect,
            initial="month" if chosen.month_first else "day",
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        self.refuse_missing()
        self.refuse_twice()
        return cleaned

    @property
    def columns(self) -> dict[str, str]:
        return {name: header for name in self.of.titles if (header := self.cleaned_data.get(name, ""))}

    @property
    def reading(self) -> Reading:
        return Reading(self.columns, self.cleaned_data["day_order"] == "month")

    def refuse_missing(self) -> None:
        if missing := self.of.missing(self.columns):
            words = _("Say which column holds the %(missing)s.") % {"missing": ", ".join(missing)}
            raise ValidationError(f"{words} {self.of.advice[1]}")

    def refuse_twice(self) -> None:
        holds: dict[str, str] = {}
        for name, header in self.columns.items():
            if header in holds:
                told = {"header": header, "one": self.of.titles[holds[header]], "two": self.of.titles[name]}
                raise ValidationError(_("The column “%(header)s” cannot hold both %(one)s and %(two)s.") % told)
            holds[header] = name


def first_of(found: Mapping[str, list[str]]) -> dict[str, str]:
    return {name: headers[0] for name, headers in found.items()}
