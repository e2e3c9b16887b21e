"""Forms of what a coach wishes of a block. Each carries the version of the block's wishes that the person saw."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from drills.models import Drill
from planner.building.house_rules import TIRING_RPE
from planner.models import Block
from planner.wish_models import UNITS, Apart, BlockWishes, DrillWish, Favourite, Keep, Matters
from planner.wishes_told import unit_name
from shared.models import Membership
from squads.models import Player


class VersionForm(forms.Form):
    version = forms.IntegerField(
        min_value=0,
        widget=forms.HiddenInput,
        error_messages={"required": _("This form is too old. Open it again."), "invalid": _("Open it again.")},
    )

    @property
    def wished(self) -> dict[str, Any]:
        """The fields of the wish itself."""
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


WEIGHED = _(
    "Weighed against skill minutes that one player stays short of: a little 10, rather 40, much 120. "
    "A whole station gives ten players some 120. These are the house's own figures."
)


def number(label: Any, least: int, most: int, **how: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=least, max_value=most, required=False, **how)


class NightsForm(VersionForm):
    themes_most = number(
        _("Themes a night, at most"),
        1,
        6,
        help_text=_(
            "A drill's theme is the family of its main skill: individual, unit, back field, scramble and turnover, "
            "set piece, kicks and restarts. A drill that spreads evenly over families counts as none. "
            "Empty: any number."
        ),
    )
    nothing_new = forms.BooleanField(
        label=_("Nothing new on the last night before a match"),
        required=False,
        help_text=_("Only drills that the squad has run before, in an earlier block or on an earlier night."),
    )
    order = forms.BooleanField(
        label=_("Fresh drills before tiring ones"),
        required=False,
        help_text=_("Drills that you mark as wanting fresh legs and heads then never come after a tiring drill."),
    )
    tiring_rpe = number(_("A drill tires from RPE"), 1, 10, initial=TIRING_RPE)
    hard_rpe = number(
        _("A drill is hard from RPE"),
        1,
        10,
        help_text=_("With the number below: how long a player may go without an easier slot. Both empty: no limit."),
    )
    hard_most = number(
        _("Hard slots in a row for one player, at most"),
        1,
        9,
        help_text=_("An easier slot ends the row, and so does fixed content of RPE 0 such as water and change."),
    )

    @staticmethod
    def initial_of(wishes: BlockWishes) -> dict[str, Any]:
        names = ("version", "themes_most", "nothing_new", "hard_rpe", "hard_most")
        order = {"order": wishes.tiring_rpe is not None, "tiring_rpe": wishes.tiring_rpe or TIRING_RPE}
        return {name: getattr(wishes, name) for name in names} | order

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if given.get("order") and given.get("tiring_rpe") is None and "tiring_rpe" not in self.errors:
            self.add_error("tiring_rpe", _("Say from which RPE on a drill tires, or take the tick away."))
        for here, other in (("hard_rpe", "hard_most"), ("hard_most", "hard_rpe")):
            if given.get(here) is None and given.get(other) is not None and not self.errors:
                self.add_error(here, _("This goes with the other number: fill in both or neither."))
        if not given.get("order"):
            given["tiring_rpe"] = None
        return given

    @property
    def wished(self) -> dict[str, Any]:
        return {name: value for name, value in super().wished.items() if name != "order"}


class DrillWishForm(VersionForm):
    drill = forms.ModelChoiceField(Drill.objects.none(), label=_("Drill"), empty_label=_("choose"))
    fresh = forms.BooleanField(
        label=_("Wants fresh legs and heads"),
        required=False,
        help_text=_("It never comes after a tiring drill of the same night, if the block keeps that order."),
    )
    runs_least = number(_("Runs in the block, at least"), 1, 99, help_text=_("A wish that may stay open."))
    runs_most = number(_("Runs in the block, at most"), 0, 99, help_text=_("Always kept. 0: never in this block."))
    gap_days = number(
        _("Days from one night of it to the next, at least"),
        1,
        364,
        help_text=_("Always kept. 7: not twice within a week."),
    )
    matters = forms.TypedChoiceField(
        label=_("How much the least number matters"),
        choices=Matters,
        coerce=int,
        initial=Matters.RATHER,
        help_text=WEIGHED,
    )
    keep = forms.ChoiceField(
        label=_("Units at its stations"),
        choices=[("", _("as it comes")), *Keep.choices],
        required=False,
        help_text=_(
            "Always kept. Who plays in several of the units counts with the first of them at stations of their own, "
            "and with each of them where units are mixed."
        ),
    )
    units = forms.MultipleChoiceField(
        label=_("Which units"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    unit_least = forms.IntegerField(
        label=_("If mixed: of each unit at a station, at least"), min_value=1, max_value=15, required=False, initial=1
    )

    def __init__(self, *args: Any, block: Block, wish: DrillWish, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = Drill.objects.of(block.squad.club).current()
        self.fields["drill"].queryset = offered | Drill.objects.filter(pk=wish.drill_id)
        self.fields["units"].choices = [(unit, unit_name(unit, block.squad.club.names)) for unit in UNITS]

    @staticmethod
    def initial_of(wish: DrillWish) -> dict[str, Any]:
        if wish.pk is None:
            return {}
        names = ("drill", "fresh", "runs_most", "matters", "keep", "units", "unit_least")
        return {name: getattr(wish, name) for name in names} | {
            "runs_least": wish.runs_least or None,
            "gap_days": wish.gap_days or None,
        }

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        least, most = given.get("runs_least"), given.get("runs_most")
        if least and most is not None and least > most:
            self.add_error("runs_most", _("The most is below the least: exchange the two."))
        if given.get("keep") and len(given.get("units", ())) < 2 and "units" not in self.errors:
            self.add_error("units", _("Tick two units at least, or leave the units as they come."))
        if not self.errors and not any(
            (given["fresh"], least, most is not None, given["gap_days"], given["keep"]),
        ):
            raise forms.ValidationError(_("Nothing is wished for yet: fill in one line at least."))
        return given

    @property
    def wished(self) -> dict[str, Any]:
        given = super().wished
        ticked = given.pop("units")
        units = ticked if given["keep"] else ()
        return given | {
            "runs_least": given["runs_least"] or 0,
            "gap_days": given["gap_days"] or 0,
            "unit_roles": " ".join(unit for unit in UNITS if unit in units),
            "unit_least": given["unit_least"] or 1,
        }


class ApartForm(VersionForm):
    first = forms.ModelChoiceField(Player.objects.none(), label=_("One player"), empty_label=_("choose"))
    second = forms.ModelChoiceField(Player.objects.none(), label=_("The other"), empty_label=_("choose"))
    contact_only = forms.BooleanField(
        label=_("Only where there is contact"),
        required=False,
        help_text=_("They may then stand together at drills without contact."),
    )

    def __init__(self, *args: Any, block: Block, wish: Apart, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        players = Player.objects.filter(squad=block.squad)
        shown = players.in_squad_on(block.first_day, block.last_day) | players.filter(
            pk__in=[key for key in (wish.first_id, wish.second_id) if key]
        )
        self.fields["first"].queryset = self.fields["second"].queryset = shown

    @staticmethod
    def initial_of(wish: Apart) -> dict[str, Any]:
        return {} if wish.pk is None else {name: getattr(wish, name) for name in ("first", "second", "contact_only")}

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if given.get("first") and given["first"] == given.get("second"):
            self.add_error("second", _("That is the same player twice: choose another."))
        return given

    @property
    def wished(self) -> dict[str, Any]:
        given = super().wished
        first, second = sorted((given["first"], given["second"]), key=lambda player: player.pk)
        return given | {"first": first, "second": second}


class MemberField(forms.ModelChoiceField):
    def label_from_instance(self, member: Membership) -> str:
        return f"{member.user}, {member.role_object.name}"


class FavouriteForm(VersionForm):
    coach = MemberField(
        Membership.objects.none(),
        label=_("Coach"),
        empty_label=_("choose"),
        help_text=_(
            "Counts on the nights that name this coach, and on those that name no coach at all. "
            "A night names its coaches on its own page."
        ),
    )
    drills = forms.ModelMultipleChoiceField(
        Drill.objects.none(),
        label=_("Drills, one of which should run"),
        widget=forms.CheckboxSelectMultiple,
    )
    matters = forms.TypedChoiceField(
        label=_("How much it matters"),
        choices=Matters,
        coerce=int,
        initial=Matters.A_LITTLE,
        help_text=WEIGHED,
    )

    def __init__(self, *args: Any, block: Block, wish: Favourite, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        club = block.squad.club
        self.fields["coach"].queryset = Membership.objects.filter(club=club).select_related("user").order_by("pk")
        offered = Drill.objects.of(club).current()
        chosen = wish.drills.values("pk") if wish.pk else ()
        self.fields["drills"].queryset = offered | Drill.objects.filter(pk__in=chosen)

    @staticmethod
    def initial_of(wish: Favourite) -> dict[str, Any]:
        if wish.pk is None:
            return {}
        return {"coach": wish.coach, "drills": wish.drills.all(), "matters": wish.matters}
