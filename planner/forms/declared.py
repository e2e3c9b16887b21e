"""What somebody tells of contact and matches elsewhere, and the minutes of a whole team sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.core.calendar import at_wall_time
from planner.core.record import LONGEST
from planner.declared import SheetLine, TeamSheet
from planner.fixture_files.found import NOON
from planner.forms.calendar import clock_field, day_field
from planner.forms.own import key_in
from planner.forms.replies import Unclear
from planner.forms.rpe import number_in
from planner.models import KIND_CHOICES
from planner.record_models import Declared, Elsewhere, MatchMinutes
from shared.core.contact import Kind
from squads.models import Player

ADULT_MATCH = 80  # minutes: two halves of 40 (laws of the game, from memory); age grades differ, so nothing is assumed


def minutes_field(label: str, help_text: str) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=0, max_value=LONGEST, help_text=help_text)


class ToldForm(forms.Form):
    """`told_by` is asked of every entry."""

    declared_by = forms.CharField(
        label=gettext_lazy("Told by"), max_length=120, help_text=gettext_lazy("a name, or what he is: the PE teacher")
    )
    field_order = ["day", "clock", "opponent", "place", "minutes"]


class ContactForm(ToldForm):
    day = day_field(gettext_lazy("Day"))
    place = forms.ChoiceField(label=gettext_lazy("Where"), choices=Elsewhere)
    minutes = minutes_field(
        gettext_lazy("Minutes in contact"),
        gettext_lazy("of contact only, not of the whole session; 0 if he was asked and there was none"),
    )
    kind = forms.ChoiceField(
        label=gettext_lazy("Contact"),
        choices=[(kind, words) for kind, words in KIND_CHOICES if kind is not Kind.NONE],
        widget=forms.RadioSelect,
        required=False,
        help_text=gettext_lazy("not needed where there was none"),
    )
    besides = forms.BooleanField(
        label=gettext_lazy("A second time on the same day"),
        required=False,
        help_text=gettext_lazy("only if the same stands there already and both are true"),
    )
    field_order = ["day", "place", "minutes", "kind", "declared_by", "besides"]

    def __init__(self, *args: Any, replaces: Declared | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if replaces:
            del self.fields["besides"]

    @classmethod
    def filled_from(cls, row: Declared) -> dict[str, Any]:
        return {name: getattr(row, name) for name in ("day", "place", "minutes", "kind", "declared_by")}

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if data.get("minutes") and not data.get("kind"):
            self.add_error("kind", _("Choose which contact it was."))
        return data

    @property
    def told(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        kind = Kind(data["kind"]) if data["minutes"] else Kind.NONE
        return data | {"kind": kind, "place": Elsewhere(data["place"])}


class MatchElsewhereForm(ToldForm):
    opponent = forms.CharField(
        label=gettext_lazy("Which match"), max_length=120, help_text=gettext_lazy("for example: school cup, away")
    )
    day = day_field(gettext_lazy("Day"))
    clock = clock_field(
        gettext_lazy("Kick-off"),
        required=False,
        help_text=gettext_lazy("empty: not known; hours between matches are then counted from noon"),
    )
    minutes = minutes_field(gettext_lazy("Minutes played"), gettext_lazy("0 if he did not play"))
    field_order = ["opponent", "day", "clock", "minutes", "declared_by"]

    def __init__(self, *args: Any, zone: ZoneInfo, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone

    @classmethod
    def filled_from(cls, row: MatchMinutes, zone: ZoneInfo) -> dict[str, Any]:
        at = row.kick_off.astimezone(zone)
        told = {name: getattr(row, name) for name in ("opponent", "minutes", "declared_by")}
        return told | {"day": at.date(), "clock": at.time()}

    @property
    def told(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        day, clock = data.pop("day"), data.pop("clock")
        return data | {"kick_off": at_wall_time(day, clock or NOON, self.zone)}


# The team sheet of a match

WHOLE, HALF, NOT = "whole", "half", "not"
QUICK = (
    ("", gettext_lazy("as written")),
    (WHOLE, gettext_lazy("whole match")),
    (HALF, gettext_lazy("one half")),
    (NOT, gettext_lazy("did not play")),
)


@dataclass(frozen=True, slots=True)
class Played:
    """One line as it was typed."""

    minutes: str = ""
    quick: str = ""

    @classmethod
    def of(cls, minutes: int | None) -> Played:
        return cls("" if minutes is None else str(minutes))

    def in_minutes(self, before: int | None, length: int | None) -> int | None:
        """None: nothing is said of him. `before` is what the page showed. Raises Unclear."""
        is_written = self.minutes != Played.of(before).minutes
        if self.quick and is_written and self.minutes:
            raise Unclear(_("A choice and minutes at once: take one of them away."))
        if self.quick:
            return self.by_choice(length)
        if not self.minutes:
            if before is not None:
                raise Unclear(_("Minutes that were told are not emptied: write 0 if he did not play."))
            return None
        return number_in(self.minutes, 0, LONGEST)

    def by_choice(self, length: int | None) -> int:
        if self.quick == NOT:
            return 0
        if self.quick not in (WHOLE, HALF):
            raise Unclear(_("There is no such choice."))
        if length is None:
            raise Unclear(_("Write above how long the match lasted, or his minutes here."))
        return length if self.quick == WHOLE else length // 2


@dataclass(frozen=True)
class LineShown:
    line: SheetLine
    played: Played
    problem: str = ""


@dataclass
class SheetForm:
    """`told` is what differs from what the page showed, `seen` the keys of the rows that it showed, by player;
    `problems` by player, and `wrong` what stands against the rest of the form, by field."""

    sheet: TeamSheet
    length: str = ""
    declared_by: str = ""
    rest_not: bool = False
    shown: str = ""
    told: dict[Player, int] = field(default_factory=dict)
    seen: dict[int, int | None] = field(default_factory=dict)
    typed: dict[int, Played] = field(default_factory=dict)
    problems: dict[int, str] = field(default_factory=dict)
    wrong: dict[str, str] = field(default_factory=dict)
    refused: list[str] = field(default_factory=list)

    @classmethod
    def of(cls, sheet: TeamSheet) -> SheetForm:
        length = sheet.longest or ("" if sheet.fixture.squad.is_age_grade else ADULT_MATCH)
        return cls(sheet, str(length), _("team sheet"), shown=keys_of(sheet))

    @classmethod
    def read(cls, sheet: TeamSheet, given: QueryDict) -> SheetForm:
        form = cls(sheet, given.get("length", "").strip(), given.get("declared_by", "").strip()[:120])
        form.rest_not, form.shown = "rest_not" in given, given.get("shown", "")
        length, shown = form.read_length(), rows_shown(form.shown, sheet)
        if not form.declared_by:
            form.wrong["declared_by"] = _("Say who told it: a name, or the team sheet.")
        for line in sheet.lines:
            if f"minutes-{line.player.pk}" in given:
                played = Played(*(given.get(f"{word}-{line.player.pk}", "").strip() for word in ("minutes", "quick")))
                form.read_line(line, played, shown.get(line.player.pk), length)
        return form

    def read_length(self) -> int | None:
        try:
            return number_in(self.length, 1, LONGEST) if self.length else None
        except Unclear as problem:
            self.wrong["length"] = str(problem)
            return None

    def read_line(self, line: SheetLine, played: Played, before: MatchMinutes | None, length: int | None) -> None:
        key = line.player.pk
        self.typed[key], self.seen[key] = played, before.pk if before else None
        was = before.minutes if before else None
        try:
            minutes = played.in_minutes(was, length)
        except Unclear as problem:
            self.problems[key] = str(problem)
            return
        if minutes is None and self.rest_not:
            minutes = 0
        if minutes is not None and minutes != was:
            self.told[line.player] = minutes

    @property
    def is_valid(self) -> bool:
        return not self.problems and not self.wrong

    @property
    def lines(self) -> list[LineShown]:
        return [
            LineShown(
                line,
                self.typed.get(line.player.pk) or Played.of(line.minutes),
                self.problems.get(line.player.pk, ""),
            )
            for line in self.sheet.lines
        ]

    def again(self, sheet: TeamSheet, reasons: tuple[str, ...]) -> SheetForm:
        """What he told, beside what stands now: saving it once more keeps it. Lines that he left alone follow."""
        self.sheet, self.shown, self.refused = sheet, keys_of(sheet), list(reasons)
        self.typed, self.rest_not = {player.pk: Played.of(much) for player, much in self.told.items()}, False
        return self


def keys_of(sheet: TeamSheet) -> str:
    return " ".join(str(line.row.pk) for line in sheet.lines if line.row)


def rows_shown(text: str, sheet: TeamSheet) -> Mapping[int, MatchMinutes]:
    """The rows whose keys the page had, by player; one that is of another match says nothing."""
    keys = {key for word in text.split() if (key := key_in(word)) is not None}
    chains = (line.chain for line in sheet.lines if line.chain)
    return {row.player_id: row for chain in chains for row in (chain.row, *chain.earlier) if row.pk in keys}
