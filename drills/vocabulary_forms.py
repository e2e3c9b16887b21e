"""Forms for the club's own words."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from drills.forms import store_of
from drills.models import Family, Ladder, Skill
from drills.vocabulary import Word
from drills.words import KIT_NAMES
from shared.core.positions import USUAL_NAMES
from shared.models import Club

PLAIN_CODE = RegexValidator(r"^[A-Z][A-Z0-9]*$", _("Write capital letters and digits, like U12."))


class WordForm(forms.Form):
    """A skill or a ladder. Its code is given once, when it is added."""

    code = forms.CharField(label=_("Code"), validators=[PLAIN_CODE], help_text=_("it stays: cards and packs name it"))
    name = forms.CharField(label=_("Name"), max_length=60)
    family = forms.ChoiceField(label=_("Family"), choices=Family.choices)
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, data: object, *, model: type[Word], word: Word | None = None) -> None:
        given = {"name": word.name, "seen": word.name, "family": getattr(word, "family", "")} if word else {}
        super().__init__(data, initial=given, label_suffix="")
        self.fields["code"].max_length = longest = model._meta.get_field("code").max_length
        self.fields["code"].widget.attrs["maxlength"] = longest
        self.fields["code"].validators.append(forms.fields.validators.MaxLengthValidator(longest))
        if word:
            del self.fields["code"]
        if model is Ladder:
            del self.fields["family"]

    @property
    def told(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("code", "name", "family") if name in self.cleaned_data}


class NamesForm(forms.Form):
    """The club's word for each group and shirt number; empty for the usual one."""

    def __init__(self, data: object, *, club: Club) -> None:
        super().__init__(data, label_suffix="")
        for code, usual in USUAL_NAMES.items():
            label = usual if not code.isdecimal() else f"{code} {usual}"
            self.fields[code] = forms.CharField(
                label=label, max_length=30, required=False, initial=club.position_names.get(code, "")
            )


class StoreForm(forms.Form):
    """Pieces of each kind of kit; empty for plenty."""

    def __init__(self, data: object, *, club: Club) -> None:
        super().__init__(data, initial=store_of(club), label_suffix="")
        for item, name in KIT_NAMES.items():
            self.fields[item] = forms.IntegerField(label=name.capitalize(), min_value=0, max_value=999, required=False)

    @property
    def kit(self) -> dict[str, int]:
        return {item: count for item, count in self.cleaned_data.items() if count is not None}


class StepsForm(forms.Form):
    """The step of each card on a ladder, and the version of it that was seen."""

    def __init__(self, data: object, *, drills: list) -> None:
        super().__init__(data, label_suffix="")
        for drill in drills:
            step = forms.IntegerField(label=str(drill), min_value=0, max_value=4, initial=drill.step)
            self.fields[f"step-{drill.number}"] = step
            seen = forms.IntegerField(widget=forms.HiddenInput, initial=drill.version)
            self.fields[f"seen-{drill.number}"] = seen
        self.drills = drills

    @property
    def steps(self) -> dict[int, tuple[int, int]]:
        given = self.cleaned_data
        return {drill.pk: (given[f"step-{drill.number}"], given[f"seen-{drill.number}"]) for drill in self.drills}


MODELS: dict[str, type[Word]] = {"skills": Skill, "ladders": Ladder}
