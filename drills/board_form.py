"""The form of a scene: everything that stands on the board in fields, as metres and seconds.

A drag on the page only fills in these fields, so whoever has no script judges the same scene.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drills.board_models import NAME_LENGTH, words_of
from drills.core.board.as_diagram import View
from drills.core.board.book import Book
from drills.core.board.kicks import KINDS
from drills.core.board.reading import FORMAT, OUTSIDE, Unfit, scene_from
from drills.core.board.scene import BACK_THREE, HALF_BACK, Call, Moment, Place, Scene
from drills.core.board.swing import next_by_the_book
from drills.models import Drill
from shared.models import Club

MEN = tuple(range(1, 16))
SWING = (*sorted(BACK_THREE), HALF_BACK)
MOST_ATTACKERS, MOST_KICKS, MOST_RUNNERS = 15, 10, 3
SPARE = 2  # empty rows to fill in
USUAL_SECONDS = 5.0
RUNNER_SPEED = 8.0
KICKS = {
    "long": gettext_lazy("long kick: 3.8 s and a bounce of 0.8 s, 40 to 60 m"),
    "box": gettext_lazy("box kick: 4.0 s, 8 to 33 m"),
    "bomb": gettext_lazy("bomb: 4.5 s, 15 to 30 m"),
    "cross": gettext_lazy("cross-kick: 3.2 s, 25 to 45 m"),
    "chip": gettext_lazy("chip: 1.9 s, 8 to 15 m"),
}
assert set(KICKS) == {kind.name for kind in KINDS}
VIEWS = [(View.WIDE, gettext_lazy("all of the width")), (View.CLOSE, gettext_lazy("around the ball"))]
CALLS = [
    (Call.DRIFT, gettext_lazy("drift")),
    (Call.JAM, gettext_lazy("jam")),
    (Call.COUNTER_RUCK, gettext_lazy("counter-ruck")),
]
MOMENTS = [(Moment.SET, gettext_lazy("set")), (Moment.MOVING, gettext_lazy("moving up"))]


def metres(label: Any = "", least: float = -OUTSIDE, most: float = 122, **more: Any) -> forms.FloatField:
    box = forms.NumberInput(attrs={"step": "0.1", "inputmode": "decimal"})
    return forms.FloatField(label=label, min_value=least, max_value=most, widget=box, **more)


def of_scene() -> forms.Select:
    """A choice that stands elsewhere on the page and is sent with the scene."""
    return forms.Select(attrs={"form": "scene"})


class Jerseys(forms.CharField):
    """Numbers of players, like "6 7"."""

    def clean(self, value: Any) -> list[int]:
        words = super().clean(value).replace(",", " ").split()
        if not all(word.isdecimal() and 1 <= int(word[:4]) <= 23 for word in words):
            raise forms.ValidationError(_("Write jersey numbers from 1 to 23, like 6 7."))
        return sorted(set(map(int, words)))


class SettingForm(forms.Form):
    """Where the ball is, and what goes for the whole scene."""

    ball_x = metres(gettext_lazy("Ball: metres from the left touch line"), 0, 70)
    line = metres(gettext_lazy("Defensive line: metres from the own goal line"), 0, 100)
    offside = metres(gettext_lazy("Offside line: metres from the own goal line"), 0, 100, required=False)
    ruck = forms.BooleanField(label=gettext_lazy("Ruck at the ball"), required=False)
    inside = Jerseys(label=gettext_lazy("In the ruck, by number"), required=False, max_length=60)
    sweeper = forms.TypedChoiceField(
        label=gettext_lazy("Who sweeps"), coerce=int, choices=[(n, n) for n in (9, 10, 8, 11, 14)], initial=HALF_BACK
    )
    moment = forms.ChoiceField(label=gettext_lazy("The line is"), choices=MOMENTS, initial=Moment.SET)
    calls = forms.MultipleChoiceField(
        label=gettext_lazy("Called"), choices=CALLS, required=False, widget=forms.CheckboxSelectMultiple
    )
    next_x = metres(gettext_lazy("The ball goes to: metres from the left touch line"), 0, 70, required=False)
    seconds = forms.FloatField(
        label=gettext_lazy("and is played on after so many seconds"), min_value=0.5, max_value=30, required=False
    )


class ShownForm(forms.Form):
    """What the drawing shows, and by whose figures it is judged."""

    view = forms.ChoiceField(label=gettext_lazy("Show"), choices=VIEWS, required=False, widget=of_scene())
    kind = forms.ChoiceField(
        label=gettext_lazy("Map of the back field for"),
        choices=[("", gettext_lazy("no kick")), *KICKS.items()],
        required=False,
        widget=of_scene(),
    )
    under = forms.TypedChoiceField(
        label=gettext_lazy("By the figures for"), coerce=int, empty_value=0, required=False, widget=of_scene()
    )

    def __init__(self, data: Any, *, grades: Iterable[int] = ()) -> None:
        super().__init__(data, label_suffix="")
        self.fields["under"].choices = [(under, words_of(under)) for under in (0, *grades)]

    @property
    def grade(self) -> int:
        """By whose figures the scene is judged: those of an age grade, or 0 for those of adults."""
        return self.cleaned_data.get("under") or 0 if self.is_valid() else 0


class SaveForm(forms.Form):
    """The name under which a scene is kept."""

    name = forms.CharField(label=gettext_lazy("Keep this scene as"), max_length=NAME_LENGTH)
    replace = forms.BooleanField(label=gettext_lazy("in place of the scene of that name"), required=False)

    def __init__(self, data: Any = None, **more: Any) -> None:
        super().__init__(data, label_suffix="", use_required_attribute=False, **more)
        for field in self.fields.values():
            field.widget.attrs["form"] = "scene"


class CardForm(forms.Form):
    """On which card a scene is drawn, and how."""

    drill = forms.ModelChoiceField(label=gettext_lazy("Drill card"), queryset=Drill.objects.none())
    how = forms.ChoiceField(
        label=gettext_lazy("The scene goes"),
        widget=forms.RadioSelect,
        initial="copy",
        choices=[
            ("copy", gettext_lazy("on a copy of the card")),
            ("after", gettext_lazy("behind the frames that its drawing has")),
            ("instead", gettext_lazy("in place of its drawing; the card's version before keeps that")),
        ],
    )

    who = forms.ChoiceField(
        label=gettext_lazy("Drawn are"),
        widget=forms.RadioSelect,
        initial="back",
        choices=[
            ("back", gettext_lazy("the back field, which a small drawing has room for")),
            ("all", gettext_lazy("all")),
        ],
    )

    def __init__(self, data: Any = None, *, club: Club) -> None:
        super().__init__(data, label_suffix="")
        self.fields["drill"].queryset = Drill.objects.of(club).current().only("number", "name", "club")


class ManForm(forms.Form):
    """One of the fifteen; without both figures he is not on the board."""

    x = metres(gettext_lazy("metres from the left touch line"), required=False)
    depth = metres(gettext_lazy("metres behind the line"), -100, required=False)
    speed = forms.FloatField(label=gettext_lazy("top speed, m/s"), min_value=1, max_value=13, required=False)
    to_x = metres(gettext_lazy("goes to: metres from the left touch line"), required=False)
    to_depth = metres(gettext_lazy("goes to: metres behind the line"), -100, required=False)

    def clean(self) -> dict[str, Any]:
        return paired(self, ("x", "depth"), ("to_x", "to_depth"))


class AttackerForm(forms.Form):
    x = metres(gettext_lazy("metres from the left touch line"), required=False)
    beyond = metres(gettext_lazy("metres beyond the line"), -100, required=False)

    def clean(self) -> dict[str, Any]:
        return paired(self, ("x", "beyond"))


class KickForm(forms.Form):
    """Where a kick comes down; a row without a name does not count."""

    name = forms.CharField(label=gettext_lazy("kick"), max_length=40, required=False)
    x = metres(gettext_lazy("metres from the left touch line"), required=False)
    depth = metres(gettext_lazy("metres behind the line"), -100, required=False)
    hang = forms.FloatField(label=gettext_lazy("seconds in the air"), min_value=0.1, max_value=10, required=False)
    bounce = forms.FloatField(label=gettext_lazy("seconds of bounce"), min_value=0, max_value=10, required=False)

    def clean(self) -> dict[str, Any]:
        return filled(self, "name", ("x", "depth", "hang"))


class RunnerForm(forms.Form):
    """A runner with the ball, straight to where he goes; without that, down the pitch to the goal line."""

    name = forms.CharField(label=gettext_lazy("runner"), max_length=40, required=False)
    x = metres(gettext_lazy("metres from the left touch line"), required=False)
    beyond = metres(gettext_lazy("metres beyond the line"), -100, required=False)
    speed = forms.FloatField(label=gettext_lazy("speed, m/s"), min_value=1, max_value=13, required=False)
    to_x = metres(gettext_lazy("crosses the goal line at: metres from the left touch line"), required=False)

    def clean(self) -> dict[str, Any]:
        return filled(self, "name", ("x", "beyond"))


def paired(form: forms.Form, *pairs: tuple[str, str]) -> dict[str, Any]:
    """Both fields of a place, or neither."""
    got = form.cleaned_data
    for one, other in pairs:
        for empty, full in ((one, other), (other, one)):
            if got.get(empty) is None and got.get(full) is not None and empty not in form.errors:
                form.add_error(empty, _("Fill in both figures of the place, or neither."))
    return got


def filled(form: forms.Form, name: str, needed: tuple[str, ...]) -> dict[str, Any]:
    """Everything that a named row needs."""
    got = form.cleaned_data
    for field in needed if got.get(name) else ():
        if got.get(field) is None and field not in form.errors:
            form.add_error(field, _("Fill this in, or take the name out."))
    return got


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
        """As many rows as were sent or are shown, and some to fill in."""
        rows = list(start)
        count = len(rows)
        if self.data is not None:
            sent = [n for n in range(most) if any(key.startswith(f"{letter}{n}-") for key in self.data)]
            count = max(sent, default=-1) + 1 - SPARE
        rows += [{}] * most
        return [self._row(form, f"{letter}{n}", rows[n]) for n in range(min(max(count, 0) + SPARE, most))]

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
        try:
            scene = scene_from(self._written(), self.book)
        except Unfit as unfit:
            for fault in unfit.faults[:10]:
                self.setting.add_error(None, f"{fault.field}: {fault.why}" if fault.field else fault.why)
            return None
        return self._with_next(scene)

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
        got = self.setting.cleaned_data
        written = {
            "format": FORMAT,
            "ball": {"x": got["ball_x"]},
            "line": got["line"],
            "defenders": [
                {"number": n, "x": row["x"], "depth": row["depth"], "speed": row["speed"]}
                for n, form in self.men.items()
                if (row := form.cleaned_data)["x"] is not None
            ],
            "attackers": [
                {"x": row["x"], "depth": -row["beyond"]}
                for form in self.attackers
                if (row := form.cleaned_data)["x"] is not None
            ],
            "sweeper": got["sweeper"],
            "calls": got["calls"],
            "moment": got["moment"],
            "kicks": [kick_written(row) for form in self.kicks if (row := form.cleaned_data)["name"]],
            "carriers": [runner_written(row) for form in self.runners if (row := form.cleaned_data)["name"]],
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


def kick_written(row: Mapping[str, Any]) -> dict[str, Any]:
    return {name: row[name] for name in ("name", "x", "depth", "hang")} | {"bounce": row["bounce"] or 0.0}


def runner_written(row: Mapping[str, Any]) -> dict[str, Any]:
    to = {} if row["to_x"] is None else {"to": {"x": row["to_x"], "y": 0.0}}
    return {"name": row["name"], "x": row["x"], "depth": -row["beyond"], "speed": row["speed"] or RUNNER_SPEED} | to


def setting_of(scene: Scene) -> dict[str, Any]:
    return {
        "ball_x": scene.ball[0],
        "line": scene.line,
        "offside": scene.offside,
        "ruck": scene.ruck is not None,
        "inside": " ".join(map(str, scene.ruck.inside)) if scene.ruck else "",
        "sweeper": scene.sweeper,
        "moment": scene.moment,
        "calls": list(scene.calls),
        "next_x": scene.next.ball[0] if scene.next else None,
        "seconds": scene.next.seconds if scene.next else None,
    }


def man_of(scene: Scene, number: int) -> dict[str, Any]:
    man = scene.man(number)
    if man is None:
        return {}
    place = {"x": tidy(man.x), "depth": tidy(scene.depth(man)), "speed": man.speed}
    after = own_ends(scene).get(number)
    return place | ({"to_x": tidy(after[0]), "to_depth": tidy(scene.line - after[1])} if after else {})


def own_ends(scene: Scene) -> dict[int, Place]:
    """Where they go, of those who go elsewhere than the book says."""
    if scene.next is None:
        return {}
    usual = dict(next_by_the_book(scene, scene.next.ball[0], scene.next.seconds).places)
    return {number: place for number, place in scene.next.places if usual.get(number) != place}


def attackers_of(scene: Scene | None) -> Iterator[dict[str, Any]]:
    for x, y in scene.attackers if scene else ():
        yield {"x": tidy(x), "beyond": tidy(y - scene.line)}


def kicks_of(scene: Scene | None) -> Iterator[dict[str, Any]]:
    for kick in scene.kicks if scene else ():
        place = {"x": tidy(kick.x), "depth": tidy(scene.line - kick.y)}
        yield {"name": kick.name, "hang": kick.hang, "bounce": kick.bounce or None} | place


def runners_of(scene: Scene | None) -> Iterator[dict[str, Any]]:
    for each in scene.carriers if scene else ():
        place = {"x": tidy(each.x), "beyond": tidy(each.y - scene.line), "to_x": tidy(each.to_x)}
        yield {"name": each.name, "speed": each.speed} | place


def tidy(value: float) -> float | int:
    """To a hundredth, a whole number without its point."""
    value = round(value, 2)
    return int(value) if value == int(value) else value
