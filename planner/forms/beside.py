"""The form of what ran on a night beside its plan."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from drills.models import Drill
from planner.core.record import LONGEST, Block, Card, Part
from planner.core.retold import Stayed, told_again
from planner.forms.record import RUNG_CHOICES
from planner.record_night import NightRecord
from shared.core.contact import Kind, kind_of


class BesideForm(forms.Form):
    """A card of the library or a name of its own; everyone who is chosen was there for all of it."""

    order = forms.TypedChoiceField(label=_("When"), coerce=int)
    drill = forms.ModelChoiceField(Drill.objects.none(), label=_("Card"), required=False, empty_label=_("no card"))
    title = forms.CharField(label=_("What ran, where no card tells it"), max_length=80, required=False)
    minutes = forms.IntegerField(label=_("Minutes"), min_value=1, max_value=LONGEST)
    rung = forms.ChoiceField(label=_("Rung"), choices=RUNG_CHOICES)
    share = forms.IntegerField(
        label=_("Per cent of the time in contact"),
        min_value=0,
        max_value=100,
        required=False,
        help_text=_("empty: what the card says"),
    )
    initials = forms.CharField(
        label=_("Initials of the lead coach"),
        max_length=8,
        required=False,
        help_text=_("for any rung above C0: no sheet held this"),
    )
    reason = forms.CharField(label=_("Why it was added"), max_length=200, required=False)
    players = forms.TypedMultipleChoiceField(
        label=_("Who was there"), coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, night: NightRecord, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.night = night
        orders: dict[int, str] = {}
        for block in night.blocks:
            orders[block.order] = (
                f"{orders[block.order]}, {block.card.title}" if block.order in orders else (block.card.title)
            )
        after = max(orders, default=-1) + 1
        beside = [(order, _("beside %(what)s") % {"what": titles}) for order, titles in orders.items()]
        self.fields["order"].choices = [(after, _("after the last")), *beside]
        self.fields["drill"].queryset = Drill.objects.of(night.session.squad.club).filter(retired_on=None)
        self.fields["players"].choices = [(key, player.sheet_name) for key, player in night.days.players.items()]

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if not data.get("drill") and not data.get("title"):
            self.add_error("title", _("Choose a card, or say what ran."))
        if not self.errors and kind_of(data["rung"]) is not Kind.NONE and not self.contact_share:
            self.add_error("share", ValidationError(_("Say how many per cent of the time were contact.")))
        return data

    @property
    def contact_share(self) -> int:
        data = self.cleaned_data
        if data["rung"] == "C0":
            return 0
        if data.get("share") is not None:
            return data["share"]
        return data["drill"].contact_share if data.get("drill") else 0

    @property
    def told(self) -> dict[str, Any]:
        """What the verb asks for."""
        data = self.cleaned_data
        part = Part(data["minutes"], data["rung"], self.contact_share, "C0", {}, data["initials"], data["reason"])
        nothing = Block("", data["order"], 0, Card(""), ())
        here = {player: Stayed() for player in data["players"]}
        parts = told_again([part], here, self.night.allowed, nothing)
        return {"order": data["order"], "drill": data["drill"], "title": data["title"], "parts": parts}
