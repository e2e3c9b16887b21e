"""How hard it was: what a player sends from his own page, and a coaches' list against what its page showed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.http import QueryDict
from django.utils.translation import gettext as _

from planner.core.record import LONGEST
from planner.core.rpe import HIGHEST
from planner.forms.own import key_in
from planner.forms.replies import Unclear
from planner.rpe import Grid, Line, Occasion, asked_of
from planner.rpe_actions import Told, why_not
from planner.rpe_models import Rpe
from squads.models import Player

TAKEN_BACK = "none"


def own_told(given: QueryDict, player: Player, now: dt.datetime) -> Told:
    """The button that was pressed, for a night or a match that he is asked for. Raises Unclear."""
    name = given.get("rpe_of", "")
    asked = next((each for each in asked_of(player, now) if each.occasion.name == name), None)
    if asked is None:
        raise Unclear(_("You are not asked for this night any more: tell a coach."))
    text = given.get("rpe", "")
    number = None if text == TAKEN_BACK else number_in(text)
    return Told(player, asked.occasion, number, answers=key_in(given.get("answers", "")))


def number_in(text: str, least: int = 0, most: int = HIGHEST) -> int:
    text = text.strip()
    if not (text.isascii() and text.isdecimal() and len(text) <= 4 and least <= int(text) <= most):
        told = {"text": text[:20], "least": least, "most": most}
        raise Unclear(_("“%(text)s”: a whole number from %(least)d to %(most)d.") % told)
    return int(text)


@dataclass(frozen=True, slots=True)
class Entry:
    """One line as it was typed."""

    number: str = ""
    minutes: str = ""

    @classmethod
    def of(cls, said: Rpe | None) -> Entry:
        if said is None or said.number is None:
            return cls()
        return cls(str(said.number), "" if said.minutes is None else str(said.minutes))

    def told(self, player: Player, occasion: Occasion, answers: int) -> Told:
        """Raises Unclear."""
        if not self.number and self.minutes:
            raise Unclear(_("Minutes without a number say nothing: choose the number, or empty the minutes."))
        number = number_in(self.number) if self.number else None
        minutes = number_in(self.minutes, 1, LONGEST) if self.minutes else None
        return Told(player, occasion, number, minutes, answers)


@dataclass
class RpeForm:
    """`told` is what differs from what the page showed; `problems` what stands against it, by player.

    `shown`: keys of the answers that the page showed. Answers are never changed, so a line that still says what its
    answer said was left alone, whatever somebody else has said since. `unseen`: lines that were not saved, because
    somebody said something else meanwhile.
    """

    shown: str = ""
    told: list[Told] = field(default_factory=list)
    typed: dict[int, Entry] = field(default_factory=dict)
    problems: dict[int, str] = field(default_factory=dict)
    unseen: set[int] = field(default_factory=set)

    @classmethod
    def read(cls, given: QueryDict, grid: Grid, now: dt.datetime) -> RpeForm:
        form = cls(given.get("shown", ""))
        shown = answers_shown(form.shown, grid)
        for line in grid.lines:
            if f"number-{line.player.pk}" in given:
                form.read_line(typed_in(given, line), line, grid.occasion, shown.get(line.player.pk), now)
        return form

    def read_line(self, entry: Entry, line: Line, occasion: Occasion, before: Rpe | None, now: dt.datetime) -> None:
        if entry == Entry.of(before):
            return
        self.typed[line.player.pk] = entry
        try:
            told = entry.told(line.player, occasion, before.pk if before else 0)
        except Unclear as problem:
            self.problems[line.player.pk] = str(problem)
            return
        self.told.append(told)
        if reason := why_not(told, now):
            self.problems[line.player.pk] = reason

    def keep_only(self, unseen: set[int]) -> None:
        """The other lines are saved."""
        self.unseen = unseen
        self.typed = {player: entry for player, entry in self.typed.items() if player in unseen}


def typed_in(given: QueryDict, line: Line) -> Entry:
    return Entry(*(given.get(f"{word}-{line.player.pk}", "").strip() for word in ("number", "minutes")))


def answers_shown(text: str, grid: Grid) -> Mapping[int, Rpe]:
    """The answers whose keys the page had, by player; one that is of another night says nothing."""
    keys = [key for word in text.split() if (key := key_in(word)) is not None]
    rows = Rpe.objects.filter(pk__in=keys, **grid.occasion.keys) if keys else ()
    return {row.player_id: row for row in rows}
