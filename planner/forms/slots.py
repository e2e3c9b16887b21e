"""The table of slots, of a night's template and of a session alike."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.formsets import BaseFormSet
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from planner.models import KIND_CHOICES, Slot
from planner.session_actions import SlotEdit
from planner.slot_plans import MOST_MINUTES, MOST_RPE, MOST_SLOTS, SlotPlan
from shared.core.contact import Kind

FURTHER_ROWS = 3


class SlotForm(forms.Form):
    """A row: without minutes it is left out. `place` says where it goes; equal places keep the order of the rows."""

    slot = forms.IntegerField(required=False, widget=forms.HiddenInput)
    place = forms.DecimalField(label=_("Place"), required=False, max_digits=5, decimal_places=1)
    minutes = forms.IntegerField(label=_("Minutes"), required=False, min_value=1, max_value=MOST_MINUTES)
    title = forms.CharField(
        label=_("Fixed content"), required=False, max_length=Slot._meta.get_field("title").max_length
    )
    rpe = forms.IntegerField(label=_("RPE"), required=False, min_value=0, max_value=MOST_RPE)
    kind = forms.ChoiceField(label=_("Contact"), required=False, choices=KIND_CHOICES, initial=Kind.NONE)
    contact_share = forms.IntegerField(label=_("% in contact"), required=False, min_value=0, max_value=100)
    gone = forms.BooleanField(label=_("Take out"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        number = (int(self.prefix.rpartition("-")[2]) if self.prefix[-1:].isdigit() else 0) + 1
        for field in self.fields.values():
            label = gettext("%(label)s, row %(number)d") % {"label": field.label, "number": number}
            field.widget.attrs["aria-label"] = label

    @property
    def is_left_out(self) -> bool:
        """Taken out, or a further row that nobody touched: Django gives such a row no cleaned data at all."""
        return self.cleaned_data.get("gone", False) or self.cleaned_data.get("minutes") is None

    @property
    def edit(self) -> SlotEdit:
        given = self.cleaned_data
        plan = SlotPlan(
            given["minutes"],
            " ".join(given["title"].split()),
            given["rpe"] or 0,
            given["kind"] or str(Kind.NONE),
            given["contact_share"] or 0,
        )
        return SlotEdit(plan, given["slot"])

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        is_written_in = given.get("title") or given.get("rpe") or given.get("contact_share")
        if not self.errors and not given["gone"]:
            if given["minutes"] is None and (is_written_in or given["slot"]):
                self.add_error("minutes", _("How long? To drop the slot, tick “take out”."))
            elif given["minutes"] is not None and (wrong := self.edit.plan.wrong()):
                raise ValidationError(f"{wrong[:1].upper()}{wrong[1:]}.")
        return given


class SlotFormSet(BaseFormSet):
    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        return super().get_form_kwargs(index) | {"use_required_attribute": False}

    @property
    def edits(self) -> list[SlotEdit]:
        """The slots in their new order, once the forms are valid."""
        rows = [(place_of(row, form), row, form.edit) for row, form in enumerate(self.forms) if not form.is_left_out]
        return [edit for _place, _row, edit in sorted(rows, key=lambda entry: entry[:2])]

    @property
    def plans(self) -> list[SlotPlan]:
        return [edit.plan for edit in self.edits]


def place_of(row: int, form: SlotForm) -> float:
    place = form.cleaned_data["place"]
    return row + 1 if place is None else float(place)


MOST_ROWS = MOST_SLOTS + FURTHER_ROWS
SlotRows = forms.formset_factory(
    SlotForm, formset=SlotFormSet, extra=FURTHER_ROWS, max_num=MOST_ROWS, absolute_max=MOST_ROWS
)


def rows_of(plans: Iterable[SlotPlan], slots: Iterable[Slot] = ()) -> list[dict[str, Any]]:
    """What the rows hold at first; nothing stands where nothing counts."""
    keys = [slot.pk for slot in slots]
    return [
        {
            "slot": keys[number - 1] if keys else None,
            "place": number,
            "minutes": plan.minutes,
            "title": plan.title,
            "rpe": plan.rpe or None,
            "kind": plan.kind,
            "contact_share": plan.contact_share or None,
        }
        for number, plan in enumerate(plans, start=1)
    ]
