"""Which weeks of which squad the contact totals are asked for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from planner.core.reading import YEARS
from planner.core.totals import monday_of
from planner.models import Block
from shared.models import Club
from squads.models import Squad

HALF_A_YEAR = dt.timedelta(days=183)


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


def blocks_of_season(squad: Squad, day: dt.date) -> list[Block]:
    """Those that touch the season of the squad that the day falls into; without one, half a year about the day."""
    season = squad.seasons.filter(first_day__lte=day, last_day__gte=day).first()
    first, last = (season.first_day, season.last_day) if season else (day - HALF_A_YEAR, day + HALF_A_YEAR)
    begun = squad.blocks.filter(first_day__lte=last, first_day__gte=first - 2 * HALF_A_YEAR)
    return [block for block in begun if block.last_day >= first]


class SpanForm(forms.Form):
    """Everything may be left out: then it is this week of the club's first squad.

    `squads` are those of the club, fetched with it. Any block of the club is taken; those that are offered are of the
    squad and season that the page shows (`offer`), for ten seasons of twenty squads have two thousand.
    """

    squad = forms.TypedChoiceField(label=_("Squad"), required=False, empty_value=None)
    week = forms.DateField(
        label=_("A day of the week"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    block = forms.ModelChoiceField(
        Block.objects.none(),
        label=_("Or a whole block"),
        required=False,
        help_text=_("of the season that this day falls into"),
    )

    def __init__(self, *args: Any, club: Club, squads: Sequence[Squad], today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today, self.squads = today, squads
        self.fields["squad"].choices = [(squad.slug, squad.name) for squad in squads]
        self.fields["squad"].coerce = {squad.slug: squad for squad in squads}.__getitem__
        self.fields["block"].queryset = Block.objects.of(club).select_related("squad__club")
        self.offer(())

    def offer(self, blocks: Iterable[Block]) -> None:
        """These blocks to choose from."""
        self.fields["block"].choices = [("", _("this week only")), *((block.pk, str(block)) for block in blocks)]

    def clean_week(self) -> dt.date | None:
        week = self.cleaned_data["week"]
        if week and week.year not in YEARS:
            raise forms.ValidationError(_("Choose a day between 1950 and 2150."))
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
