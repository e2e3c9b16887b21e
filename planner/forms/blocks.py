"""Forms of blocks, runs and targets."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from drills.models import Skill
from planner.building.house_rules import QUICK, THOROUGH
from planner.models import Block
from shared.core.positions import GROUPS, Names
from shared.models import Club
from squads.models import Squad

MOST_MINUTES = 999  # of a skill in four weeks: more than a squad trains altogether


def next_monday(day: dt.date) -> dt.date:
    """The day itself if it is one."""
    return day + dt.timedelta(days=-day.weekday() % 7)


class BlockForm(forms.Form):
    squad = forms.ModelChoiceField(Squad.objects.none(), label=_("Squad"), empty_label=None)
    name = forms.CharField(label=_("Name"), max_length=60)
    first_day = forms.DateField(
        label=_("First day"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text=_("Weeks, and the contact limits of a week, count from here: a Monday, as a rule."),
    )
    weeks = forms.IntegerField(label=_("Weeks"), min_value=1, max_value=52, initial=4)
    focus = forms.ModelMultipleChoiceField(
        Skill.objects.none(),
        label=_("Main skills"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Three to five. They weigh more, and are wanted every week."),
    )
    target_percent = forms.IntegerField(
        label=_("Share of the usual minutes, per cent"),
        min_value=1,
        max_value=300,
        initial=100,
        help_text=_("100 in season with two nights a week; less in a short or easy block."),
    )
    load_low = forms.IntegerField(
        label=_("Load of a week, at least"),
        min_value=0,
        max_value=100_000,
        initial=300,
        help_text=_("AU: RPE on the 1 to 10 scale x minutes, fixed content counted, matches not."),
    )
    load_high = forms.IntegerField(label=_("Load of a week, at most"), min_value=0, max_value=100_000, initial=700)

    def __init__(self, *args: Any, club: Club, block: Block, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.block = block
        self.fields["squad"].queryset = Squad.objects.filter(club=club)
        self.fields["focus"].queryset = Skill.objects.of(club).current()

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if not self.errors:
            self._bands(given)
            self._name(given)
            self._overlap(given)
        return given

    def _bands(self, given: dict[str, Any]) -> None:
        if given["load_low"] > given["load_high"]:
            self.add_error("load_high", _("The most is below the least: exchange the two."))

    def _name(self, given: dict[str, Any]) -> None:
        if self._others(given).filter(name=given["name"]).exists():
            self.add_error("name", _("This squad has a block of that name already: choose another."))

    def _overlap(self, given: dict[str, Any]) -> None:
        """A night belongs to one block, or two runs would plan it."""
        last_day = given["first_day"] + dt.timedelta(days=7 * given["weeks"] - 1)
        for other in self._others(given):
            if other.first_day <= last_day and given["first_day"] <= other.last_day:
                text = _("This runs into “%(name)s”, %(first)s to %(last)s: change the first day or the weeks.")
                span = {"name": other.name, "first": other.first_day, "last": other.last_day}
                self.add_error("first_day", text % span)

    def _others(self, given: dict[str, Any]) -> Any:
        return Block.objects.filter(squad=given["squad"]).exclude(pk=self.block.pk)


class RunForm(forms.Form):
    seconds = forms.TypedChoiceField(choices=[(QUICK, QUICK), (THOROUGH, THOROUGH)], coerce=int)


class UndoForm(forms.Form):
    """`monday`: the week that the person comes from; `sure`: the page that asks first has been read."""

    change = forms.IntegerField(min_value=1)
    monday = forms.DateField(required=False)
    sure = forms.BooleanField(required=False)


class TargetsForm(forms.Form):
    """A field for each position group and skill, named `FR-12` by group and key of the skill."""

    def __init__(
        self, *args: Any, skills: list[Skill], minutes: Mapping[tuple[str, int], int], names: Names, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.skills, self.groups = skills, names.groups
        for skill in skills:
            for group in GROUPS:
                self.fields[self._field(group, skill)] = forms.IntegerField(
                    label=f"{self.groups[group]}, {skill}",
                    min_value=0,
                    max_value=MOST_MINUTES,
                    required=False,
                    initial=minutes.get((group, skill.pk)) or None,
                    widget=forms.NumberInput(attrs={"aria-label": f"{self.groups[group]}, {skill}"}),
                )

    @staticmethod
    def _field(group: str, skill: Skill) -> str:
        return f"{group}-{skill.pk}"

    def rows(self) -> Iterator[tuple[Skill, list[tuple[str, forms.BoundField]]]]:
        for skill in self.skills:
            yield skill, [(self.groups[group], self[self._field(group, skill)]) for group in GROUPS]

    @property
    def minutes(self) -> dict[tuple[str, int], int]:
        """What was entered; an empty field is nought."""
        return {
            (group, skill.pk): self.cleaned_data[self._field(group, skill)] or 0
            for skill in self.skills
            for group in GROUPS
        }
