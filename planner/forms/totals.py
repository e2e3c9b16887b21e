"""Which weeks of which squad the contact totals are asked for."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from planner.core.totals import monday_of
from planner.models import Block
from shared.models import Club
from squads.models import Squad


@dataclass(frozen=True, slots=True)
class Span:
    """So many weeks of a squad from a Monday; `block` if they are those of a block."""

    squad: Squad
    monday: dt.date
    weeks: int
    block: Block | None = None

    @classmethod
    def of_block(cls, squad: Squad, block: Block) -> Span:
        """Every week from Monday to Sunday that the block touches."""
        monday = monday_of(block.first_day)
        return cls(squad, monday, (block.last_day - monday).days // 7 + 1, block)


class SpanForm(forms.Form):
    """Everything may be left out: then it is this week of the club's first squad."""

    squad = forms.ModelChoiceField(
        Squad.objects.none(), label=_("Squad"), required=False, to_field_name="slug", empty_label=None
    )
    week = forms.DateField(
        label=_("A day of the week"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    block = forms.ModelChoiceField(
        Block.objects.none(), label=_("Or a whole block"), required=False, empty_label=_("this week only")
    )

    def __init__(self, *args: Any, club: Club, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today, self.squads = today, list(Squad.objects.filter(club=club).select_related("club"))
        self.fields["squad"].queryset = Squad.objects.filter(club=club).select_related("club")
        self.fields["block"].queryset = Block.objects.of(club).select_related("squad")

    def clean_week(self) -> dt.date | None:
        week = self.cleaned_data["week"]
        if week and not 1950 <= week.year <= 2150:
            raise forms.ValidationError(_("Choose a day of this century."))
        return week

    @property
    def span(self) -> Span | None:
        """None if the club has no squad. A wrong answer is told at its field, and this week shown meanwhile."""
        given = self.cleaned_data if self.is_valid() else {}
        block = given.get("block")
        squad = given.get("squad") or (block and block.squad) or (self.squads[0] if self.squads else None)
        if squad is None:
            return None
        if block and block.squad_id == squad.pk:
            return Span.of_block(squad, block)
        return Span(squad, monday_of(given.get("week") or self.today), 1)
