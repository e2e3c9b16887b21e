"""The form of a whole drill: it is filled from an entry, and what comes back is an entry again."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.http import QueryDict
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drills.core.pack import Entry, Fault
from drills.entries import SPANS, entry_of
from drills.forms import RUNG_CHOICES, group_choices
from drills.models import Drill, Ladder, OfClubQuerySet, Skill
from drills.schema import described, longest
from drills.words import KIT_NAMES
from shared.core.positions import ALL, BACKS, FORWARDS, GROUPS, POSITION_NAMES
from shared.models import Club

SECTIONS = (
    (gettext_lazy("What it is"), ("number", "name", "purpose", "rung", "ladder", "step")),
    (
        gettext_lazy("Who"),
        ("groups", "needs", "players", "one_more", "one_fewer", "group_shape", "age_from", "training_age"),
    ),
    (gettext_lazy("Ground"), ("grid",)),
    (gettext_lazy("How it runs"), ("set_up", "trigger", "runs", "ends", "cues", "questions", "success")),
    (gettext_lazy("Time and load"), ("minutes", "sets", "work_rest", "rpe", "contact_share", "contacts")),
    (gettext_lazy("Coach"), ("coaches", "coach_place", "easier", "harder")),
    (gettext_lazy("Safety"), ("safety",)),
)
TEXTS = (
    "name", "purpose", "one_more", "one_fewer", "group_shape", "training_age", "set_up", "trigger", "ends", "success",
    "sets", "easier", "harder", "coach_place",
)  # fmt: skip
LISTS = ("runs", "cues", "questions", "safety")
NUMBERS = ("number", "age_from", "rpe", "contact_share", "coaches")
MAY_BE_EMPTY = {"questions", "safety", "grid_per", "step", "ladder"}
ROLES = (*GROUPS, FORWARDS, BACKS, *map(str, POSITION_NAMES))
MULTI_LINE = {"purpose", "set_up"}


class LineField(forms.CharField):
    """Text whose line breaks and double spaces do not matter."""

    def to_python(self, value: Any) -> str:
        return re.sub(r"\s+", " ", super().to_python(value)).strip()


class LinesField(forms.CharField):
    """A list of texts, one to a line."""

    widget = forms.Textarea(attrs={"rows": 6})

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(value) if isinstance(value, list) else value

    def clean(self, value: Any) -> list[str]:
        lines = (re.sub(r"\s+", " ", line).strip() for line in super().clean(value).splitlines())
        return [line for line in lines if line]


class DrillForm(forms.Form):
    """The fields of a drill that are no rows of their own."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, data: QueryDict | None, *, club: Club, drill: Drill | None, like: Drill | None = None) -> None:
        super().__init__(data, initial=_initial(drill or like), label_suffix="")
        for name in TEXTS:
            area = forms.Textarea(attrs={"rows": 3}) if name in MULTI_LINE else None
            self._add(name, LineField(max_length=longest(name), widget=area))
        for name in LISTS:
            self._add(name, LinesField(help_text=_("one to a line, each at most %d characters") % longest(name)))
        for name in (*NUMBERS, "step", *(f"{field}_{part}" for field in SPANS for part in SPANS[field])):
            self._add(name, forms.IntegerField(min_value=0, max_value=9999))
        self._add("work_rest", LineField(max_length=5, help_text=_("like 1:2")))
        self._add("rung", forms.ChoiceField(choices=RUNG_CHOICES))
        shown = drill or like
        ladders = offered(Ladder.objects.of(club), {shown.ladder_id} if shown else set())
        self._add("ladder", forms.ChoiceField(choices=[("", _("none")), *ladders]))
        groups = group_choices(club)
        self._add(
            "groups",
            forms.MultipleChoiceField(choices=[(ALL, _("everyone")), *groups], widget=forms.CheckboxSelectMultiple),
        )
        for code, name in groups:
            label = _("At least so many of %s") % name
            self.fields[f"needs_{code}"] = forms.IntegerField(label=label, min_value=1, max_value=99, required=False)
        self.fields["number"].disabled = drill is not None

    def _add(self, name: str, field: forms.Field) -> None:
        model_field = Drill._meta.get_field(name)
        field.label = capfirst(model_field.verbose_name)
        field.required = name not in MAY_BE_EMPTY
        field.help_text = field.help_text or (described(name) if name in TEXTS else "")
        self.fields[name] = field

    @property
    def sections(self) -> Iterator[tuple[str, list[list[BoundField]]]]:
        """Headings, and under each the inputs of its fields: those of one field belong side by side."""
        for title, names in SECTIONS:
            yield title, [[self[name] for name in field_names(field)] for field in names]

    @property
    def part(self) -> dict[str, Any]:
        """These fields in the form of an entry."""
        filled = self.cleaned_data
        part = {name: filled[name] for name in (*TEXTS, *LISTS, *NUMBERS, "work_rest", "rung", "groups", "step")}
        part |= {field: {each: filled[f"{field}_{each}"] for each in SPANS[field]} for field in SPANS}
        part["needs"] = {code: filled[f"needs_{code}"] for code in GROUPS if filled[f"needs_{code}"]}
        part["ladder"] = filled["ladder"] or None
        return part


def offered(words: OfClubQuerySet, kept: Collection[int | None]) -> list[tuple[str, str]]:
    """Skills or ladders to choose from: the current ones, and those that the drill has kept from before."""
    choices = []
    for word in words:
        if word.retired_on is None:
            choices.append((word.code, str(word)))
        elif word.pk in kept:
            choices.append((word.code, _("%(word)s (retired)") % {"word": word}))
    return choices


def field_names(field: str) -> list[str]:
    """The inputs that stand for one field of an entry."""
    if field == "needs":
        return [f"needs_{code}" for code in GROUPS]
    return [f"{field}_{part}" for part in SPANS[field]] if field in SPANS else [field]


def _initial(drill: Drill | None) -> dict[str, Any]:
    if drill is None:
        return {"age_from": 0, "coaches": 1, "rung": "C0", "contact_share": 0, "contacts_least": 0, "contacts_most": 0}
    entry = entry_of(drill)
    initial = {
        name: entry[name] for name in (*TEXTS, *LISTS, *NUMBERS, "work_rest", "rung", "groups", "step", "ladder")
    }
    initial |= {f"{field}_{part}": entry[field][part] for field in SPANS for part in SPANS[field]}
    return initial | {f"needs_{code}": count for code, count in entry["needs"].items()} | {"version": drill.version}


class RowForm(forms.Form):
    """One row of a table; a row whose first field is left empty does not count."""

    use_required_attribute = False

    def __init__(self, *args: Any, club: Club, drill: Drill | None = None, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.fill_choices(club, drill)
        for field in self.fields.values():
            field.required = False

    def fill_choices(self, club: Club, drill: Drill | None) -> None:
        """For rows that name something of the club."""

    @property
    def first(self) -> str:
        return next(iter(self.fields))

    def clean(self) -> dict[str, Any]:
        filled = super().clean()
        if filled.get(self.first):
            for name in self.needed:
                if filled.get(name) in (None, "") and name not in self.errors:
                    self.add_error(name, ValidationError(_("Fill this in, or empty the row.")))
        return filled


class SkillRow(RowForm):
    skill = forms.ChoiceField(label=gettext_lazy("Skill"))
    share = forms.IntegerField(label=gettext_lazy("Per cent"), min_value=1, max_value=100)
    roles = forms.CharField(
        label=gettext_lazy("Only for"),
        help_text=gettext_lazy("groups (HB BR), shirt numbers (9), forwards or backs; empty for everyone"),
    )
    needed = ("share",)

    def fill_choices(self, club: Club, drill: Drill | None) -> None:
        kept = {taught.skill_id for taught in drill.skill_shares.all()} if drill else set()
        self.fields["skill"].choices = [("", "–"), *offered(Skill.objects.of(club), kept)]

    def clean_roles(self) -> list[str] | None:
        """Codes as the format writes them, whichever way they were typed."""
        given = re.split(r"[\s,;]+", self.cleaned_data["roles"].strip())
        typed = {role.casefold(): role for role in ROLES}
        return list(dict.fromkeys(typed.get(role.casefold(), role) for role in given)) if given != [""] else None


class KitRow(RowForm):
    item = forms.ChoiceField(label=gettext_lazy("Kit"), choices=[("", "–"), *KIT_NAMES.items()])
    count = forms.IntegerField(label=gettext_lazy("Pieces"), min_value=1, max_value=200)
    per = forms.IntegerField(
        label=gettext_lazy("For every so many players"),
        min_value=1,
        max_value=99,
        help_text=gettext_lazy("empty: in all"),
    )
    needed = ("count",)


class FaultRow(RowForm):
    fault = LineField(label=gettext_lazy("What goes wrong"), max_length=90)
    fix = LineField(label=gettext_lazy("What mends it"), max_length=110)
    needed = ("fix",)


SkillRows = forms.formset_factory(SkillRow, extra=2, max_num=6)
KitRows = forms.formset_factory(KitRow, extra=2, max_num=12)
FaultRows = forms.formset_factory(FaultRow, extra=3, max_num=3)


class DrillEditor:
    """The form and its tables as one. `entry` is there once `is_valid()` said so."""

    def __init__(
        self, data: QueryDict | None, *, club: Club, drill: Drill | None = None, like: Drill | None = None
    ) -> None:
        """`drill` is changed; `like` is filled in for a new card that is adapted from it."""
        shown = drill or like
        entry = entry_of(shown) if shown else {"skills": [], "kit": [], "faults": [], "diagram": None}
        self.diagram = entry["diagram"]  # drawn on a page of its own, carried along by this one
        shares = [share | {"roles": " ".join(share["roles"] or [])} for share in entry["skills"]]
        given = {"data": data, "form_kwargs": {"club": club, "drill": shown}}
        self.form = DrillForm(data, club=club, drill=drill, like=like)
        self.skills = SkillRows(prefix="skills", initial=shares, **given)
        self.kit = KitRows(prefix="kit", initial=entry["kit"], **given)
        self.faults = FaultRows(prefix="faults", initial=entry["faults"], **given)

    @property
    def tables(self) -> list[tuple[str, forms.BaseFormSet]]:
        return [
            (_("Skills, 100 per cent in all"), self.skills),
            (_("Kit"), self.kit),
            (_("Faults and fixes"), self.faults),
        ]

    @property
    def has_errors(self) -> bool:
        return bool(self.form.errors) or any(rows.total_error_count() for _title, rows in self.tables)

    def is_valid(self) -> bool:
        return all([self.form.is_valid(), *(rows.is_valid() for _title, rows in self.tables)])

    @property
    def entry(self) -> Entry:
        tables = {"skills": _rows(self.skills), "kit": _rows(self.kit), "faults": _rows(self.faults)}
        return self.form.part | tables | {"diagram": self.diagram}

    @property
    def version(self) -> int:
        return self.form.cleaned_data["version"] or 0

    def refuse(self, faults: Iterable[Fault]) -> None:
        """Show what the rules of a drill have against it, each beside its input where it has one."""
        for fault in faults:
            if row := self._row_of(fault):
                row.add_error(str(fault.path[2]), fault.why)
                continue
            name = self._input_of(fault)
            told = fault.why if name and len(fault.path) < 2 else f"{fault.field}: {fault.why}"
            self.form.add_error(name, told)

    def _row_of(self, fault: Fault) -> RowForm | None:
        """The row of a table that a fault is about, counted among those that were filled in."""
        tables = {"skills": self.skills, "kit": self.kit, "faults": self.faults}
        if len(fault.path) < 3 or fault.path[0] not in tables:
            return None
        return _filled(tables[str(fault.path[0])])[int(fault.path[1])]

    def _input_of(self, fault: Fault) -> str | None:
        head, *rest = map(str, fault.path or ("",))
        for name in ("_".join([head, *rest[:1]]), head, f"{head}_least", f"{head}_width"):
            if name in self.form.fields:
                return name
        return None


def _rows(rows: forms.BaseFormSet) -> list[dict[str, Any]]:
    return [row.cleaned_data for row in _filled(rows)]


def _filled(rows: forms.BaseFormSet) -> list[RowForm]:
    return [row for row in rows.forms if row.cleaned_data.get(row.first)]
