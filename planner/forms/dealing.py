"""Forms of dealing again, of marking what to keep, and of answering a proposal."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from drills.models import Drill
from planner.building.house_rules import QUICK, THOROUGH
from planner.models import Session, Station
from planner.programme import Spot, slot_name

TOO_OLD = _("This page is too old. Open it again.")


class SeenForm(forms.Form):
    """The stamp of what stood when the person looked."""

    seen = forms.CharField(max_length=8, widget=forms.HiddenInput, error_messages={"required": TOO_OLD})


class DealForm(SeenForm):
    """What to do beside mending what no longer fits; a night of its own offers its slots and stations, less the begun.

    Where everything fits (`fits`), something has to be chosen: otherwise there is nothing to deal.
    """

    slots = forms.MultipleChoiceField(
        label=_("Deal these anew as well"), required=False, widget=forms.CheckboxSelectMultiple
    )
    station = forms.ModelChoiceField(
        Station.objects.none(), label=_("Take this station out"), required=False, empty_label=_("none")
    )
    drill = forms.ModelChoiceField(
        Drill.objects.none(), label=_("and put this drill in its place"), required=False, empty_label=_("choose")
    )
    ban = forms.ModelChoiceField(
        Drill.objects.none(),
        label=_("Leave this drill out of the whole block"),
        required=False,
        empty_label=_("none"),
        help_text=_("From now on, until you take it back in. Unlock its stations first."),
    )

    def __init__(
        self,
        *args: Any,
        night: Session | None,
        drills: Iterable[int],
        begun: Collection[int] = (),
        fits: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fits = fits
        offered = Drill.objects.filter(pk__in=list(drills))
        self.fields["drill"].queryset = self.fields["ban"].queryset = offered
        if night is None:
            for name in ("slots", "station", "drill"):
                del self.fields[name]
            return
        slots = [slot for slot in night.slots.all() if slot.is_planned and slot.pk not in begun]
        self.fields["slots"].choices = [(str(slot.pk), slot_name(night, slot)) for slot in slots]
        stations = Station.objects.filter(slot__in=slots).select_related("drill", "slot__session")
        self.fields["station"].queryset = stations.order_by("slot__order", "order")
        self.fields["station"].label_from_instance = station_label

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        station, drill = given.get("station"), given.get("drill")
        if station and not drill and "drill" not in self.errors:
            self.add_error("drill", _now("Choose the drill that comes in its place."))
        if drill and not station and "station" not in self.errors:
            self.add_error("station", _now("Choose the station that it takes the place of."))
        if self.fits and not self.errors and not any(given.get(name) for name in ("slots", "station", "ban")):
            self.add_error(None, _now("Everything that stands fits: choose what else should change, or leave it."))
        return given


def station_label(station: Station) -> str:
    return _now("slot %(number)d: %(drill)s") % {"number": station.slot.order + 1, "drill": station.drill}


class KeepForm(forms.Form):
    """Which stations of a proposal to keep; with `seconds` a new run around them is asked for at once."""

    keep = forms.MultipleChoiceField(
        required=False,
        error_messages={"invalid_choice": _("A station of this page is no longer there. Open it again.")},
    )
    seconds = forms.TypedChoiceField(choices=[(QUICK, QUICK), (THOROUGH, THOROUGH)], coerce=int, required=False)

    def __init__(self, *args: Any, keys: Iterable[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["keep"].choices = [(key, key) for key in keys]

    @property
    def spots(self) -> list[Spot]:
        pairs = (key.split("-") for key in self.cleaned_data["keep"])
        return [(int(slot), int(drill)) for slot, drill in pairs]
