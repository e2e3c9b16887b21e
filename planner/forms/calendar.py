"""Forms of seasons, nights, fixtures and sessions."""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.forms.formsets import BaseFormSet
from django.utils.translation import gettext_lazy as _

from planner.calendar_actions import NamedDays
from planner.core.calendar import at_wall_time
from planner.fixture_files.found import NOON
from planner.models import Fixture, FixtureState, Session, TrainingNight
from planner.venue_models import NOWHERE, Venue, Where
from shared.models import Club
from shared.uploads import UploadForm
from squads.models import Squad

KIT = {
    "balls": _("Balls"),
    "cones": _("Cones"),
    "bibs": _("Bibs"),
    "bags": _("Tackle bags"),
    "shields": _("Hit shields"),
    "suits": _("Tackle suits"),
    "mats": _("Mats"),
    "scrum_machine": _("Scrum machines"),
}
FURTHER_ROWS = 3
EARLIEST, LATEST = dt.date(2000, 1, 1), dt.date(2100, 12, 31)


def day_field(label: str, **more: Any) -> forms.DateField:
    """A day that every zone and every calendar program can hold."""
    field = forms.DateField(label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **more)
    field.validators.append(refuse_far_days)
    return field


def refuse_far_days(day: dt.date) -> None:
    if not EARLIEST <= day <= LATEST:
        raise ValidationError(_("Choose a day between 2000 and 2100."))


def clock_field(label: str, **more: Any) -> forms.TimeField:
    return forms.TimeField(label=label, widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"), **more)


class OfSquad(forms.Form):
    squad = forms.ModelChoiceField(Squad.objects.none(), label=_("Squad"), empty_label=None)

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone: ZoneInfo = club.tzinfo
        self.fields["squad"].queryset = Squad.objects.filter(club=club).select_related("club")


class SeasonForm(OfSquad):
    name = forms.CharField(label=_("Name"), max_length=40, help_text=_("For example 2026/27"))
    first_day = day_field(_("First day"))
    last_day = day_field(_("Last day"))
    was = forms.CharField(widget=forms.HiddenInput, required=False)

    def clean_was(self) -> str | None:
        return self.cleaned_data["was"] or None


class NamedDaysForm(forms.Form):
    """A phase or a break. A row without a name and days is left out."""

    name = forms.CharField(label=_("Name"), max_length=40, required=False)
    first = day_field(_("First day"), required=False)
    last = day_field(_("Last day"), required=False)

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if not self.errors and not self.is_empty:
            if not given["name"] or not given["first"]:
                raise ValidationError(_("Give a name and a first day, or empty the row."))
            given["last"] = given["last"] or given["first"]
        return given

    @property
    def is_empty(self) -> bool:
        return not any(self.cleaned_data.get(name) for name in ("name", "first", "last"))


class NamedDaysFormSet(BaseFormSet):
    @property
    def days(self) -> list[NamedDays]:
        return [NamedDays(**form.cleaned_data) for form in self.forms if not form.is_empty]


NamedDaysRows = forms.formset_factory(
    NamedDaysForm, formset=NamedDaysFormSet, extra=FURTHER_ROWS, absolute_max=60, max_num=50, validate_max=True
)


class WhereForm(forms.Form):
    """A venue of the club, or words for a place elsewhere, cleaned into one value."""

    keeps_words = False  # beside a venue

    venue = forms.ModelChoiceField(
        Venue.objects.none(), label=_("Venue"), required=False, empty_label=_("none of the club's")
    )
    venue_words = forms.CharField(label=_("or elsewhere, in words"), max_length=80, required=False)

    def offer_venues(self, club: Club, chosen: Where) -> None:
        """Those on offer, and the one that is chosen though it was retired since."""
        offered = Venue.objects.of(club).filter(Q(retired_on=None) | Q(pk=chosen.venue and chosen.venue.pk))
        self.fields["venue"].queryset = offered
        self.fields["venue"].initial, self.fields["venue_words"].initial = chosen

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        where = Where(given.pop("venue", None), given.pop("venue_words", ""))
        if where.venue and where.words and not self.keeps_words:
            self.add_error("venue_words", _("Choose a venue or write where it is, not both."))
        return given | {"where": where}


class GrassForm(forms.Form):
    """What is there to train on and with; kit is kept as one value."""

    pitch = forms.CharField(label=_("Pitch"), max_length=80, required=False, help_text=_("For example: near half"))
    width = forms.IntegerField(label=_("Width, m"), min_value=1, max_value=200, initial=68)
    length = forms.IntegerField(label=_("Length, m"), min_value=1, max_value=200, initial=50)
    coaches = forms.IntegerField(label=_("Coaches"), min_value=0, max_value=20, initial=2)
    stations = forms.IntegerField(label=_("Stations at once"), min_value=1, max_value=12, initial=3)
    lights_until = clock_field(_("Lights off at"), required=False)

    def __init__(self, *args: Any, kit: dict[str, int] | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for item, label in KIT.items():
            self.fields[f"kit_{item}"] = forms.IntegerField(
                label=label, min_value=0, max_value=999, required=False, initial=(kit or {}).get(item)
            )

    def clean(self) -> dict[str, Any]:
        """Kit left empty is not known, which is not the same as none."""
        given = super().clean()
        counts = {item: given.pop(f"kit_{item}", None) for item in KIT}
        return given | {"kit": {item: count for item, count in counts.items() if count is not None}}

    @property
    def kit_fields(self) -> list[forms.BoundField]:
        return [self[f"kit_{item}"] for item in KIT]

    @property
    def other_fields(self) -> list[forms.BoundField]:
        return [field for field in self if not field.name.startswith("kit_")]


class GroundForm(GrassForm, WhereForm):
    """Where a session is, and what is there."""

    def __init__(self, *args: Any, club: Club, where: Where = NOWHERE, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer_venues(club, where)


class NightForm(GroundForm):
    weekday = forms.TypedChoiceField(
        label=_("Day"), coerce=int, choices=TrainingNight._meta.get_field("weekday").choices
    )
    starts = clock_field(_("Starts"))
    first_day = day_field(_("From"), required=False, help_text=_("Empty: from the season's first day"))
    last_day = day_field(_("Until"), required=False, help_text=_("Empty: to the season's last day"))

    field_order = ["weekday", "starts", "first_day", "last_day"]


def one_a_line(text: str) -> list[str]:
    return [" ".join(line.split()) for line in text.splitlines() if line.strip()]


class LinesField(forms.CharField):
    """A list of short texts, one on each line."""

    widget = forms.Textarea(attrs={"rows": 3})

    def __init__(self, *, most: int, **kwargs: Any) -> None:
        super().__init__(required=False, **kwargs)
        self.most = most

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(value) if isinstance(value, list) else value

    def clean(self, value: Any) -> list[str]:
        lines = one_a_line(super().clean(value))
        if len(lines) > self.most:
            raise ValidationError(_("At most %(most)d lines.") % {"most": self.most})
        if any(len(line) > 120 for line in lines):
            raise ValidationError(_("Keep each line below 120 letters: it has to fit on the sheet."))
        return lines


class DetailsForm(GroundForm):
    """A session but for its time and slots."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    coach_names = LinesField(label=_("Coaches by name"), most=12, help_text=_("One on each line, the lead first"))
    first_aider = forms.CharField(label=_("First aider"), max_length=80, required=False)
    aims = LinesField(label=_("Aims"), most=3, help_text=_("One or two, one on each line"))
    notes = forms.CharField(label=_("Notes"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 4}))


class WhenForm(forms.Form):
    """The time of a session; with `has_plan` its stations may be taken off on the way to another day."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    day = day_field(_("Day"))
    starts = clock_field(_("Starts"))
    drop_plan = forms.BooleanField(
        label=_("Take its stations off"),
        required=False,
        help_text=_(
            "They were planned for the old day. This can be undone on the page of the block. "
            "Otherwise they come along, and the next page says what they break."
        ),
    )

    def __init__(self, *args: Any, zone: ZoneInfo, has_plan: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone
        if not has_plan:
            del self.fields["drop_plan"]

    @property
    def new_day(self) -> dt.date:
        return self.cleaned_data["day"]

    @property
    def takes_stations_along(self) -> bool:
        return self.cleaned_data.get("drop_plan") is False

    @property
    def starts_at(self) -> dt.datetime:
        return at_wall_time(self.cleaned_data["day"], self.cleaned_data["starts"], self.zone)


class NewSessionForm(OfSquad):
    day = day_field(_("Day"))
    starts = clock_field(_("Starts"))
    like = forms.ModelChoiceField(
        TrainingNight.objects.none(),
        label=_("Slots and ground as on"),
        required=False,
        empty_label=_("a usual night"),
    )

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, club=club, **kwargs)
        nights = TrainingNight.objects.filter(season__squad__club=club).select_related("season__squad")
        self.fields["like"].queryset = nights.order_by("-season__first_day", "weekday", "starts")
        self.fields["like"].label_from_instance = lambda night: f"{night}, {night.season} {night.season.squad}"

    @property
    def starts_at(self) -> dt.datetime:
        like = self.cleaned_data["like"]
        return at_wall_time(self.cleaned_data["day"], self.cleaned_data["starts"], like.zone if like else self.zone)


class FixtureForm(OfSquad, WhereForm):
    opponent = forms.CharField(label=_("Opponent"), max_length=Fixture._meta.get_field("opponent").max_length)
    day = day_field(_("Day"))
    clock = clock_field(_("Kick-off"), required=False, help_text=_("Empty: not known yet"))
    home = forms.TypedChoiceField(
        label=_("Where"),
        choices=[("yes", _("home")), ("no", _("away"))],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
    )
    competition = forms.CharField(label=_("Competition"), max_length=80, required=False)
    venue_words = forms.CharField(
        label=_("Venue in words"),
        max_length=160,
        required=False,
        help_text=_("As the fixture list names it. A venue chosen above is shown in its place."),
    )
    state = forms.ChoiceField(label=_("State"), choices=FixtureState, initial=FixtureState.PLANNED)
    is_final = forms.BooleanField(
        label=_("A final"),
        required=False,
        help_text=_("The calendar then proposes a taper for the three weeks before."),
    )
    was = forms.CharField(widget=forms.HiddenInput, required=False)

    keeps_words = True
    field_order = ["squad", "opponent", "day", "clock", "home", "competition", "venue", "venue_words"]

    def __init__(self, *args: Any, club: Club, where: Where = NOWHERE, **kwargs: Any) -> None:
        super().__init__(*args, club=club, **kwargs)
        self.offer_venues(club, where)

    def clean_was(self) -> str | None:
        return self.cleaned_data["was"] or None

    @classmethod
    def filled_from(cls, fixture: Fixture) -> dict[str, Any]:
        return {
            "squad": fixture.squad,
            "opponent": fixture.opponent,
            "day": fixture.day,
            "clock": None if fixture.all_day else fixture.kicks_off.time(),
            "home": "yes" if fixture.home else "no",
            "competition": fixture.competition,
            "state": fixture.state,
            "is_final": hasattr(fixture, "final"),
        }

    @property
    def state_words(self) -> str:
        return str(FixtureState(self.cleaned_data["state"]).label)

    @property
    def fields_of_fixture(self) -> dict[str, Any]:
        given = dict(self.cleaned_data)
        day, clock = given.pop("day"), given.pop("clock")
        zone = given["where"].zone_or(self.zone)
        return given | {"kick_off": at_wall_time(day, clock or NOON, zone), "all_day": clock is None}


class FixturesUploadForm(OfSquad, UploadForm):
    field_order = ["squad", "file"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["file"].help_text = _("A calendar (.ics), CSV or XLSX, at most 2 MB")
        self.fields["file"].widget.attrs["accept"] = ".ics,.csv,.txt,.xlsx,text/calendar"


def details_of(session: Session) -> dict[str, Any]:
    names = ("pitch", "width", "length", "coaches", "stations", "lights_until")
    more = ("coach_names", "first_aider", "aims", "notes")
    return {name: getattr(session, name) for name in (*names, *more)} | {"version": session.plan_version}
