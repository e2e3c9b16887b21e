"""The form of a club's own figures of the board: an empty field leaves the figure ours."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drills.board_models import OLDEST, YOUNGEST, words_of
from drills.core.board.book import Book
from drills.core.board.figures import Figure, figures, value_of
from drills.core.fault import Fault
from drills.figure_words import GROUPS, label


class GradeForm(forms.Form):
    """Whose figures are shown."""

    under = forms.TypedChoiceField(
        label=gettext_lazy("Figures for"),
        coerce=int,
        required=False,
        empty_value=0,
        choices=[(under, words_of(under)) for under in (0, *range(YOUNGEST, OLDEST + 1))],
    )


class FiguresForm(forms.Form):
    """`own`: what the club changed for this age grade; `below`: what holds where it changed nothing."""

    def __init__(self, data: Any, *, own: Mapping[str, float], below: Book) -> None:
        super().__init__(data, label_suffix="", initial={key: tidy(value) for key, value in own.items()})
        self.own, self.known = own, {figure.key: figure for figure in figures()}
        for key, figure in self.known.items():
            self.fields[key] = field_of(figure, value_of(below, key))

    @property
    def groups(self) -> Iterable[tuple[str, list[BoundField]]]:
        for title, names in GROUPS:
            yield str(title), [self[key] for key, figure in self.known.items() if figure.name in names]

    @property
    def wanted(self) -> dict[str, float | None]:
        return dict(self.cleaned_data)

    def refuse(self, faults: Iterable[Fault]) -> None:
        """Beside the field where that is known: a range has two, of which the first is marked."""
        for fault in faults:
            path = ".".join(map(str, fault.path))
            key = next((key for key in self.known if key == path or key.startswith(f"{path}.")), None)
            self.add_error(key, fault.why)


def field_of(figure: Figure, below: float) -> forms.Field:
    kind = forms.IntegerField if figure.whole else forms.FloatField
    told = _("ours: %(ours)s; %(low)s to %(high)s can be written")
    return kind(
        label=label(figure),
        required=False,
        min_value=figure.low,
        max_value=figure.high,
        help_text=told % {"ours": tidy(figure.ours), "low": tidy(figure.low), "high": tidy(figure.high)},
        widget=forms.NumberInput(attrs={"placeholder": tidy(below), "step": 1 if figure.whole else "any"}),
    )


def tidy(value: float) -> float | int:
    return int(value) if value == int(value) else value
