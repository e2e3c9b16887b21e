"""What people may enter about squads and players."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import slugify
from django.utils.translation import gettext_lazy as _

from shared.models import Club
from squads.models import Clearance, ClearanceLevel, ContactRules, Player, Squad
from squads.wording import usual_words

# Words that stand where a squad's short name stands in an address.
TAKEN_SLUGS = {"add"}
LONGEST_ABSENCE = dt.timedelta(days=731)


class DayInput(forms.DateInput):
    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class DayField(forms.DateField):
    widget = DayInput


def short_name(name: str) -> str:
    """What stands for that name in addresses; empty if the name has no letter from a to z and no digit."""
    return slugify(name)[: Squad._meta.get_field("slug").max_length].strip("-")


class SquadForm(forms.ModelForm):
    class Meta:
        model = Squad
        fields = ["name", "slug", "age_from"]
        help_texts = {"slug": _("letters, digits and hyphens, as in firsts; empty: made from the name")}
        error_messages = {"slug": {"invalid": _("Use letters, digits and hyphens only, without a space.")}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["slug"].required = False

    def clean_slug(self) -> str:
        slug = self.cleaned_data["slug"] or self.instance.slug or short_name(self.cleaned_data.get("name", ""))
        if not slug:
            raise ValidationError(_("No short name can be made from that name. Write one in letters from a to z."))
        if slug in TAKEN_SLUGS:
            raise ValidationError(_("This word is an address of the site already. Choose another."))
        return slug


class PlayerForm(forms.ModelForm):
    """`seen` remembers how the player was when the page was opened."""

    other_positions = forms.TypedMultipleChoiceField(
        label=_("Other positions"),
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    key = forms.CharField(
        label=_("Reference"),
        max_length=40,
        required=False,
        help_text=_("the club's own number for this player, if there is one; it tells namesakes apart on import"),
    )
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    class Meta:
        model = Player
        fields = [
            *("given_name", "family_name", "main_position", "other_positions", "born"),
            *("joined", "size_band", "seasons_played", "key"),
        ]
        field_classes = {"born": DayField, "joined": DayField}

    def __init__(self, *args: Any, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.known_key = self.instance.key
        positions = [(n, f"{n} {name}") for n, name in self.instance.squad.club.names.positions.items()]
        self.fields["main_position"].choices = [("", "---------"), *positions]
        self.fields["other_positions"].choices = positions
        if self.instance.pk:
            self.fields["seen"].initial = self.instance.fingerprint

    @property
    def fields_of_player(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "seen"}

    def clean_born(self) -> dt.date | None:
        born = self.cleaned_data["born"]
        if born and born > self.today:
            raise ValidationError(_("This day is still to come. Check the year."))
        return born

    def clean_key(self) -> str:
        return self.cleaned_data["key"] or self.known_key

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        main, joined, born = data.get("main_position"), data.get("joined"), data.get("born")
        data["other_positions"] = [number for number in data.get("other_positions", []) if number != main]
        if joined and born and joined < born:
            self.add_error("joined", _("A player cannot join before being born. Mend one of the two dates."))
        if joined and self.instance.left and joined > self.instance.left:
            self.add_error("joined", _("This lies after the day the player left. Mend one of the two dates."))
        return data


class LeaveForm(forms.Form):
    left = DayField(
        label=_("Last day in the squad"), required=False, help_text=_("empty: the player stays, or comes back")
    )


class AwayForm(forms.Form):
    first_day = DayField(label=_("From"))
    last_day = DayField(label=_("To"), help_text=_("the last day away; leave it empty for one day"), required=False)
    said_by = forms.CharField(
        label=_("Told by"), max_length=80, required=False, help_text=_("who told you; never why somebody is away")
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        first, last = data.get("first_day"), data.get("last_day")
        if first and not last:
            data["last_day"] = last = first
        if first and last and last < first:
            self.add_error("last_day", _("This lies before the first day away. Mend one of the two."))
        if first and last and last - first > LONGEST_ABSENCE:
            self.add_error("last_day", _("This is over two years. Check the year, or note that the player left."))
        return data


class SeveralAwayForm(AwayForm):
    players = forms.ModelMultipleChoiceField(
        label=_("Who"), queryset=Player.objects.none(), widget=forms.CheckboxSelectMultiple
    )
    field_order = ["players"]

    def __init__(self, *args: Any, squad: Squad, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["players"].queryset = squad.players.in_squad_on(today, dt.date.max).select_related("squad__club")


LEVELS = ClearanceLevel.choices


def offered_levels() -> list[tuple[str, str]]:
    """Each level with the words that are usual for it, to be changed at will."""
    usual = {level: "; ".join(filter(None, usual_words(level))) for level in ClearanceLevel.values}
    return [(level, str(label) if usual[level] == label else f"{label} ({usual[level]})") for level, label in LEVELS]


class ClearanceForm(forms.ModelForm):
    """No level is preselected: the site proposes none."""

    level = forms.ChoiceField(label=_("May do"), choices=offered_levels, widget=forms.RadioSelect)

    class Meta:
        model = Clearance
        fields = [
            *("level", "from_day", "decided_by", "decided_as", "decided_on", "letter_received", "review_on"),
            *("review_by", "allowed_work", "not_allowed_work"),
        ]
        field_classes = {"from_day": DayField, "decided_on": DayField, "review_on": DayField}
        help_texts = {
            "allowed_work": _("Work only: never an injury, a symptom or a reason. Empty: the usual words, as above."),
            "not_allowed_work": _("Empty: the usual words, as above."),
            "review_by": _("for example: physio, doctor, first aider"),
            "letter_received": _("of the medical clearance, or of a parent"),
        }

    def __init__(self, *args: Any, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_decided_on(self) -> dt.date:
        decided_on = self.cleaned_data["decided_on"]
        if decided_on > self.today:
            raise ValidationError(_("A decision cannot be dated after today."))
        return decided_on

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        start, review = data.get("from_day"), data.get("review_on")
        if start and review and review < start:
            self.add_error("review_on", _("The review lies before the first day. Mend one of the two."))
        if data.get("level"):
            for field, usual in zip(("allowed_work", "not_allowed_work"), usual_words(data["level"]), strict=True):
                data[field] = data.get(field) or usual
        return data


class ContactRulesForm(forms.ModelForm):
    read = forms.BooleanField(
        label=_("I have read the current text of our union for this age group, and these limits are not looser"),
        label_suffix="",
    )
    full_days = forms.IntegerField(label=_("Days a week with full contact"), required=False, min_value=0, max_value=7)
    free_days = forms.IntegerField(
        label=_("Days a week without any contact, at least"), required=False, min_value=0, max_value=7
    )
    near_percent = forms.IntegerField(
        label=_("“Near” starts at, per cent of a limit"), min_value=1, max_value=100, initial=80
    )

    class Meta:
        model = ContactRules
        fields = [
            *("name", "source", "body", "age_from", "age_to", "squad", "valid_from"),
            *("full_minutes", "controlled_minutes", "set_piece_minutes", "full_days", "free_days"),
            *("match_minutes", "match_hours", "two_day_minutes", "season_matches"),
            *("full_after_match", "full_before_match", "controlled_after_match"),
            *("controlled_before_match", "near_percent", "ladder_minutes", "ladder_days"),
        ]
        field_classes = {"valid_from": DayField}

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["squad"].queryset = Squad.objects.filter(club=club)
        self.fields["squad"].empty_label = _("every squad of the club")

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        youngest, oldest = data.get("age_from"), data.get("age_to")
        if youngest is not None and oldest is not None and oldest < youngest:
            self.add_error("age_to", _("This is younger than the youngest age grade. Mend one of the two."))
        for side in ("after", "before"):
            controlled, full = data.get(f"controlled_{side}_match"), data.get(f"full_{side}_match")
            if controlled is not None and full is not None and controlled > full:
                self.add_error(
                    f"controlled_{side}_match", _("Full contact would be allowed nearer to a match than controlled.")
                )
        return data
