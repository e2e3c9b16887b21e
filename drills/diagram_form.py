"""A diagram as a plain form: for browsers without JavaScript, and for those who would rather type."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drills.core import telling
from drills.core.diagram import FORMAT, LONGEST, MOST_FRAMES, NOTE_LENGTH, WIDEST, Kind
from drills.core.fault import Fault
from drills.core.moving import following
from drills.core.pathlines import NotAPath, line_of, path_of
from drills.diagram_words import where
from drills.models import Drill

KINDS = [("", "–"), *((str(kind), telling.NAMES[kind][0]) for kind in Kind)]
SPARE_ROWS = 4


class AreaForm(forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
    frames = forms.IntegerField(min_value=1, max_value=MOST_FRAMES, widget=forms.HiddenInput)
    width = forms.FloatField(label=gettext_lazy("Area, metres wide"), max_value=WIDEST)
    length = forms.FloatField(label=gettext_lazy("Area, metres long"), max_value=LONGEST)
    pitch_x = forms.FloatField(
        label=gettext_lazy("On a pitch: metres from the left touchline"),
        help_text=gettext_lazy("of the lower left corner; empty for a plain grid"),
        required=False,
    )
    pitch_y = forms.FloatField(label=gettext_lazy("On a pitch: metres from the own goal line"), required=False)

    def clean(self) -> dict[str, Any]:
        filled = super().clean()
        if (filled.get("pitch_x") is None) != (filled.get("pitch_y") is None):
            self.add_error("pitch_y", _("Fill in both distances on the pitch, or neither."))
        return filled


class PathLines(forms.CharField):
    """Paths, one to a line."""

    widget = forms.Textarea(attrs={"rows": 6, "spellcheck": "false"})

    def clean(self, value: Any) -> list[dict[str, Any]]:
        paths, wrong = [], []
        for number, line in enumerate(super().clean(value).splitlines(), start=1):
            try:
                paths += [path_of(line)] if line.strip() else []
            except NotAPath as why:
                wrong.append(_("Line %(n)d: %(why)s.") % {"n": number, "why": why})
        if wrong:
            raise forms.ValidationError(wrong)
        return paths


class FrameForm(forms.Form):
    note = forms.CharField(label=gettext_lazy("Note"), max_length=NOTE_LENGTH, required=False)
    paths = PathLines(label=gettext_lazy("Paths"), required=False, help_text=gettext_lazy(
        "one to a line: run d1 &gt; 4,5 &gt; 6,7 | order 1. Others: carry, pass, kick a1 &gt; 10,2 | hang 3.5, tackle, "
        "line 0,5 &gt; 20,5 | label offside. Numbers are metres from the left, then up."
    ))  # fmt: skip


class ThingForm(forms.Form):
    """One object; a row without a kind does not count."""

    use_required_attribute = False
    kind = forms.ChoiceField(label=gettext_lazy("Object"), choices=KINDS, required=False)
    id = forms.CharField(label=gettext_lazy("Name in paths"), max_length=8, required=False)
    label = forms.CharField(label=gettext_lazy("Number"), max_length=3, required=False)
    x = forms.FloatField(label=gettext_lazy("Metres from the left"), required=False)
    y = forms.FloatField(label=gettext_lazy("Metres up"), required=False)

    def clean(self) -> dict[str, Any]:
        filled = super().clean()
        for name in ("id", "x", "y") if filled.get("kind") else ():
            if filled.get(name) in (None, "") and name not in self.errors:
                self.add_error(name, _("Fill this in, or choose – as object."))
        return filled


ThingRows = forms.formset_factory(ThingForm, extra=SPARE_ROWS)


@dataclass(frozen=True)
class FrameFields:
    """One frame of the form."""

    number: int
    form: FrameForm
    things: forms.BaseFormSet

    def is_valid(self) -> bool:
        return all([self.form.is_valid(), self.things.is_valid()])

    @property
    def value(self) -> dict[str, Any]:
        rows = (row.cleaned_data for row in self.things.forms)
        objects = [
            {name: row[name] for name in ("id", "kind", "x", "y")} | {"label": row["label"].upper()}
            for row in rows
            if row.get("kind")
        ]
        return {"note": self.form.cleaned_data["note"], "objects": objects, "paths": self.form.cleaned_data["paths"]}


class DiagramForm:
    """The form of a whole diagram. `value` is there once `is_valid()` said so; it may still break rules of a diagram.

    What a page sends as JSON in the field `diagram` counts in place of the rows.
    """

    def __init__(self, data: QueryDict | None, *, drill: Drill, shown: dict[str, Any] | None = None) -> None:
        self.data, self.drill = data, drill
        self.shown = shown or drill.diagram or blank(drill)
        self.area = AreaForm(data, initial=self._area(), label_suffix="")

    @property
    def sent_whole(self) -> bool:
        return self.data is not None and "diagram" in self.data

    @cached_property
    def frames(self) -> list[FrameFields]:
        frames = self.shown["frames"]
        if self.data is not None and not self.sent_whole:
            asked = self.area["frames"].value() or ""
            count = int(asked) if asked.isdecimal() else 1
            frames = [{"note": "", "objects": [], "paths": []}] * max(1, min(count, MOST_FRAMES))
        return [self._frame(place, frame) for place, frame in enumerate(frames)]

    def is_valid(self) -> bool:
        if self.sent_whole:
            self.area.is_valid()
            return self._whole is not None and "version" in self.area.cleaned_data
        return all([self.area.is_valid(), *(frame.is_valid() for frame in self.frames)])

    @cached_property
    def _whole(self) -> Any:
        try:
            return json.loads(self.data["diagram"])
        except (ValueError, RecursionError):
            return None

    @property
    def version(self) -> int:
        return self.area.cleaned_data["version"]

    @property
    def value(self) -> Any:
        if self.sent_whole:
            return self._whole
        area = self.area.cleaned_data
        on_pitch = area["pitch_x"] is not None
        return {
            "format": FORMAT,
            "area": {"width": area["width"], "length": area["length"]},
            "pitch": {"x": area["pitch_x"], "y": area["pitch_y"]} if on_pitch else None,
            "frames": [frame.value for frame in self.frames],
        }

    @property
    def has_errors(self) -> bool:
        fields = (frame.form.errors or frame.things.total_error_count() for frame in self.frames)
        return self.data is not None and bool(self.area.errors or any(fields))

    def refuse(self, faults: Iterable[Fault]) -> None:
        for fault in faults:
            self.area.add_error(None, f"{where(fault, self.value)}: {fault.why}")

    def with_one_more_frame(self) -> DiagramForm:
        """The same form, not saved, with a frame that goes on from the last one."""
        value = self.value
        longer = value | {"frames": [*value["frames"], following(value["frames"][-1], value["area"])]}
        form = DiagramForm(None, drill=self.drill, shown=longer)
        form.area.initial["version"] = self.version
        return form

    def _area(self) -> dict[str, Any]:
        corner = self.shown["pitch"] or {"x": None, "y": None}
        return {
            "version": self.drill.version,
            "frames": len(self.shown["frames"]),
            **self.shown["area"],
            "pitch_x": corner["x"],
            "pitch_y": corner["y"],
        }

    def _frame(self, place: int, frame: dict[str, Any]) -> FrameFields:
        data = None if self.sent_whole else self.data
        start = {"note": frame["note"], "paths": "\n".join(map(line_of, frame["paths"]))}
        form = FrameForm(data, prefix=f"f{place}", initial=start, label_suffix="")
        things = ThingRows(data, prefix=f"f{place}-things", initial=frame["objects"], form_kwargs={"label_suffix": ""})
        return FrameFields(place + 1, form, things)


def blank(drill: Drill) -> dict[str, Any]:
    """An empty drawing of the size of the drill's grid."""
    width, length = min(max(drill.grid_width, 2), WIDEST), min(max(drill.grid_length, 2), LONGEST)
    frame = {"note": "", "objects": [], "paths": []}
    return {"format": FORMAT, "area": {"width": width, "length": length}, "pitch": None, "frames": [frame]}
