"""The fields of the board's form: setting, men, kicks, runners, what is shown, and the name of a kept scene."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drills.board_models import NAME_LENGTH, OLDEST, YOUNGEST, words_of
from drills.core.board.as_diagram import View
from drills.core.board.kicks import KINDS
from drills.core.board.reading import OUTSIDE
from drills.core.board.scene import BACK_THREE, HALF_BACK, Call, Moment
from drills.models import Drill
from shared.models import Club

MEN = tuple(range(1, 16))
SWEEPERS = (HALF_BACK, 10, 8, 11, 14)  # the half-back, or who may be named for it
SWING = tuple(sorted({*BACK_THREE, *SWEEPERS}))
MOST_ATTACKERS, MOST_KICKS, MOST_RUNNERS = 15, 10, 3
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
        label=gettext_lazy("Who sweeps"), coerce=int, choices=[(n, n) for n in SWEEPERS], initial=HALF_BACK
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
        """Offers `grades`, and the one that is chosen: its own figures may have been given back meanwhile."""
        super().__init__(data, label_suffix="")
        chosen = {under for under in range(YOUNGEST, OLDEST + 1) if str(under) == str(data.get("under"))}
        self.fields["under"].choices = [(under, words_of(under)) for under in sorted({0, *grades, *chosen})]

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
