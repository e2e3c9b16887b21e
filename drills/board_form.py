"""The form of a scene: everything that stands on the board in fields, as metres and seconds.

A drag on the page only fills in these fields, so whoever has no script judges the same scene.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _

from drills.board_fields import (
    MEN,
    MOST_ATTACKERS,
    MOST_KICKS,
    MOST_RUNNERS,
    SWING,
    AttackerForm,
    KickForm,
    ManForm,
    RunnerForm,
    SettingForm,
)
from drills.board_rows import (
    attackers_of,
    kick_written,
    kicks_of,
    man_of,
    runner_written,
    runners_of,
    setting_of,
)
from drills.core.board.book import Book
from drills.core.board.reading import FORMAT, OUTSIDE, Unfit, readable, scene_from
from drills.core.board.scene import Scene
from drills.core.board.swing import next_by_the_book
from drills.core.fault import Fault, Path

SPARE = 2  # empty rows to fill in
USUAL_SECONDS = 5.0
MOST_TOLD = 10


@dataclass
class BoardForm:
    """The forms of one scene. `data` is what was sent, or None to show `shown`."""

    book: Book
    data: Mapping[str, Any] | None = None
    shown: Scene | None = None

    @cached_property
    def setting(self) -> SettingForm:
        return SettingForm(self.data, initial=setting_of(self.shown) if self.shown else {}, label_suffix="")

    @cached_property
    def men(self) -> dict[int, ManForm]:
        return {n: self._row(ManForm, f"m{n}", man_of(self.shown, n) if self.shown else {}) for n in MEN}

    @cached_property
    def attackers(self) -> list[AttackerForm]:
        return self._rows(AttackerForm, "a", attackers_of(self.shown), MOST_ATTACKERS)

    @cached_property
    def kicks(self) -> list[KickForm]:
        return self._rows(KickForm, "k", kicks_of(self.shown), MOST_KICKS)

    @cached_property
    def runners(self) -> list[RunnerForm]:
        return self._rows(RunnerForm, "c", runners_of(self.shown), MOST_RUNNERS)

    def _row(self, form: type[forms.Form], prefix: str, start: dict[str, Any]) -> Any:
        return form(self.data, prefix=prefix, initial=start, label_suffix="", use_required_attribute=False)

    def _rows(self, form: type[forms.Form], letter: str, start: Iterator[dict[str, Any]], most: int) -> list[Any]:
        """Up to the last that is filled in, and some to fill in."""
        rows = list(start)
        count = len(rows) if self.data is None else max(self._filled(form, letter, most), default=-1) + 1
        rows += [{}] * most
        return [self._row(form, f"{letter}{n}", rows[n]) for n in range(min(count + SPARE, most))]

    def _filled(self, form: type[forms.Form], letter: str, most: int) -> Iterator[int]:
        """A browser sends empty rows as well."""
        sent = self.data or {}
        for n in range(most):
            if any(str(sent.get(f"{letter}{n}-{name}", "")).strip() for name in form.base_fields):
                yield n

    @property
    def rows(self) -> Iterator[forms.Form]:
        yield from (*self.men.values(), *self.attackers, *self.kicks, *self.runners)

    @cached_property
    def scene(self) -> Scene | None:
        """The scene that was sent; None if something has to be mended first."""
        if self.data is None:
            return self.shown
        if not all([self.setting.is_valid(), *(row.is_valid() for row in self.rows)]):
            return None
        scene = None
        try:
            scene = self._with_next(scene_from(self._written(), self.book))
            return readable(scene)
        except Unfit as unfit:
            self._tell(unfit.faults, scene)
            return None

    def _tell(self, faults: Sequence[Fault], scene: Scene | None) -> None:
        """Each fault beside the field where it was typed, if a single one holds it."""
        for fault in faults[:MOST_TOLD]:
            form, field = self._field_of(fault.path, scene)
            if form is None:
                self.setting.add_error(None, f"{fault.field}: {fault.why}" if fault.field else fault.why)
            else:
                far = _("This place lies more than %d m beyond the pitch: give one nearer to it.") % OUTSIDE
                form.add_error(field, far if fault.path[-1] in ("x", "y", "depth") else fault.why)

    def _field_of(self, path: Path, scene: Scene | None) -> tuple[forms.Form | None, str]:
        """The row and the field that a path of the written scene comes from."""
        match path:
            case ("next", "defenders", int(n), "x" | "y" as axis) if scene and scene.next:
                return self.men[scene.next.places[n][0]], {"x": "to_x", "y": "to_depth"}[axis]
            case ("carriers", int(n), "to", *_more):
                return self._written_rows["carriers"][n], "to_x"
            case (str(kind), int(n), "x" | "y" | "depth" as axis) if kind in self._written_rows:
                row = self._written_rows[kind][n]
                return row, "x" if axis == "x" else "depth" if "depth" in row.fields else "beyond"
        return None, ""

    @cached_property
    def _written_rows(self) -> dict[str, list[Any]]:
        """The rows that stand for something, by the name of their list in a written scene."""
        return {
            "defenders": [form for form in self.men.values() if form.cleaned_data["x"] is not None],
            "attackers": [form for form in self.attackers if form.cleaned_data["x"] is not None],
            "kicks": [form for form in self.kicks if form.cleaned_data["name"]],
            "carriers": [form for form in self.runners if form.cleaned_data["name"]],
        }

    def _with_next(self, scene: Scene) -> Scene:
        """Where each of the back field goes: by the book, unless the form says where."""
        x = self.setting.cleaned_data["next_x"]
        if x is None:
            return scene
        usual = next_by_the_book(scene, x, self.setting.cleaned_data["seconds"] or USUAL_SECONDS)
        rows = {n: self.men[n].cleaned_data for n in SWING}
        own = {n: (r["to_x"], scene.line - r["to_depth"]) for n, r in rows.items() if r["to_x"] is not None}
        places = dict(usual.places) | {n: place for n, place in own.items() if scene.man(n)}
        return replace(scene, next=replace(usual, places=tuple(sorted(places.items()))))

    def _written(self) -> dict[str, Any]:
        got, rows = self.setting.cleaned_data, self._written_rows
        men = {n: form.cleaned_data for n, form in self.men.items() if form in rows["defenders"]}
        written = {
            "format": FORMAT,
            "ball": {"x": got["ball_x"]},
            "line": got["line"],
            "defenders": [
                {"number": n, "x": row["x"], "depth": row["depth"], "speed": row["speed"]} for n, row in men.items()
            ],
            "attackers": [
                {"x": row.cleaned_data["x"], "depth": -row.cleaned_data["beyond"]} for row in rows["attackers"]
            ],
            "sweeper": got["sweeper"],
            "calls": got["calls"],
            "moment": got["moment"],
            "kicks": [kick_written(row.cleaned_data) for row in rows["kicks"]],
            "carriers": [runner_written(row.cleaned_data) for row in rows["carriers"]],
        }
        if got["offside"] is not None:
            written["offside"] = got["offside"]
        if got["ruck"]:
            written["ruck"] = {"x": got["ball_x"], "foot": got["line"], "inside": got["inside"]}
        return written

    @property
    def swingers(self) -> dict[int, ManForm]:
        return {number: self.men[number] for number in SWING}

    @property
    def more(self) -> list[BoundField]:
        return [self.setting[name] for name in ("ruck", "inside", "offside", "moment", "sweeper", "calls")]

    @property
    def opens(self) -> dict[str, bool]:
        """Which parts of the form hold something that has to be mended."""
        men = [form.errors for form in self.men.values()] if self.data is not None else []
        return {
            "kicks": any_wrong(self.kicks),
            "runners": any_wrong(self.runners),
            "attackers": any_wrong(self.attackers),
            "swing": any("to_x" in e or "to_depth" in e for e in men) or wrong(self.setting, "next_x", "seconds"),
            "calls": any("speed" in e for e in men) or wrong(self.setting, "inside", "offside", "calls", "sweeper"),
        }

    @property
    def faults(self) -> Iterator[str]:
        """Each fault of a field in one line."""
        for form in (self.setting, *self.rows):
            for name, told in form.errors.items():
                if name != "__all__":
                    yield f"{row_name(form.prefix)}{form.fields[name].label}: {' '.join(told)}"

    @property
    def has_errors(self) -> bool:
        return self.data is not None and self.scene is None


def any_wrong(rows: list[forms.Form]) -> bool:
    return any(row.is_bound and row.errors for row in rows)


def wrong(form: forms.Form, *names: str) -> bool:
    return form.is_bound and any(name in form.errors for name in names)


def row_name(prefix: str | None) -> str:
    """ "15, " for a man, "kick 2, " and the like."""
    if not prefix:
        return ""
    kinds = {"k": _("kick"), "c": _("runner"), "a": _("attacker")}
    number = int(prefix[1:])
    return f"{number}, " if prefix[0] == "m" else f"{kinds[prefix[0]]} {number + 1}, "
