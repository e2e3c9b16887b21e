"""A file of RPE against what is known: a preview, and the answers that confirming it would add.

Columns: day, player (or his reference), RPE, and if wanted minutes and what it was of (training or match).
"""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from django.db.models import Q
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from planner.core.record import LONGEST
from planner.models import Fixture, Session
from planner.rpe import Occasion, number_words
from planner.rpe_models import Rpe, newest
from shared.days import day_in, refuse_month_first
from shared.preview import Change, Line, Preview, RowRefused, State
from shared.tables import Row, Table, Unreadable, read_table
from squads.matching import name_key
from squads.models import Player, Squad

HEADERS = {
    "day": {"day", "date", "session date"},
    "player": {"player", "name", "full name", "player name"},
    "key": {"reference", "ref", "key", "id", "player id", "member no"},
    "number": {"rpe", "session rpe", "srpe", "s rpe", "rating"},
    "minutes": {"minutes", "min", "duration", "duration min", "mins"},
    "what": {"what", "kind", "type", "session", "training or match"},
}
MATCH_WORDS, TRAINING_WORDS = {"match", "game", "fixture"}, {"training", "session", "night", "practice"}


@dataclass(frozen=True, slots=True)
class RowTold:
    player: Player
    occasion: Occasion
    number: int
    minutes: int | None


@dataclass(frozen=True, slots=True)
class RpeImport:
    preview: Preview
    rows: tuple[RowTold, ...]


def rpe_in(squad: Squad, content: bytes, filename: str) -> RpeImport:
    """Compare a file with what was said so far; nothing is written. Raises Unreadable."""
    table = read_table(content, filename)
    headers = headers_of(table)
    refuse_month_first(table, headers["day"])
    reading = Reading(squad, headers, table, timezone.now())
    lines = tuple(reading.line(row) for row in table.rows)
    return RpeImport(Preview(lines, origin=table.origin), tuple(reading.rows))


def headers_of(table: Table) -> dict[str, str]:
    """By field the header of its column."""
    found: dict[str, str] = {}
    for header in table.headers:
        words = " ".join(re.sub(r"\(.*?\)|[^\w]|_", " ", header.casefold()).split())
        for name, words_known in HEADERS.items():
            if words in words_known:
                found.setdefault(name, header)
    wanted = {"day": "Day", "number": "RPE"} | ({} if "key" in found else {"player": "Player"})
    missing = [word for name, word in wanted.items() if name not in found]
    if missing:
        raise Unreadable(
            _("No column headed %(missing)s was found. Head the columns Day, Player, RPE. Found: %(all)s.")
            % {"missing": ", ".join(missing), "all": ", ".join(table.headers)}
        )
    return found


def day_or_none(text: str, now: dt.datetime) -> dt.date | None:
    try:
        return day_in(text, now.year)
    except ValueError:
        return None


@dataclass
class Reading:
    squad: Squad
    headers: dict[str, str]
    table: Table
    now: dt.datetime
    rows: list[RowTold] = field(default_factory=list)
    taken: set[tuple[int, str]] = field(default_factory=set)

    def __post_init__(self) -> None:
        days = {day for row in self.table.rows if (day := self.day(row))}
        self.by_key: dict[str, Player] = {}
        self.by_name: dict[str, list[Player]] = defaultdict(list)
        for player in self.squad.players.select_related("squad__club"):
            self.by_key[player.key] = player
            self.by_name[name_key(str(player))].append(player)
        nights = Session.objects.filter(squad=self.squad, day__in=days, cancelled=False).prefetch_related("slots")
        matches = Fixture.objects.filter(squad=self.squad, day__in=days).played_or_due()
        self.nights = by_day(Occasion(session=night) for night in nights.select_related("squad__club"))
        self.matches = by_day(Occasion(fixture=match) for match in matches.select_related("squad__club"))
        said = Rpe.objects.filter(Q(session__day__in=days) | Q(fixture__day__in=days), player__squad=self.squad)
        self.said = newest(said)

    def day(self, row: Row) -> dt.date | None:
        return day_or_none(self.text(row, "day"), self.now)

    def text(self, row: Row, name: str) -> str:
        return row.text(self.headers.get(name, ""))

    def line(self, row: Row) -> Line:
        where = _("row %(number)d") % {"number": row.number}
        label = self.text(row, "player") or self.text(row, "key") or "–"
        try:
            return self.compared(where, self.read(row))
        except RowRefused as refusal:
            column = self.headers.get(refusal.column, "")
            return Line(where, label, State.REFUSED, column=column, reason=refusal.reason)

    def read(self, row: Row) -> RowTold:
        if row.problem:
            raise RowRefused("", row.problem)
        player, occasion = self.player(row), self.occasion(row)
        if occasion.ends > self.now:
            raise RowRefused("day", _("%(what)s is not over yet.") % {"what": occasion})
        number = whole(self.text(row, "number"), "number", 0, 10)
        minutes = self.text(row, "minutes")
        return RowTold(player, occasion, number, whole(minutes, "minutes", 1, LONGEST) if minutes else None)

    def player(self, row: Row) -> Player:
        key, name = self.text(row, "key"), self.text(row, "player")
        if key:
            if key not in self.by_key:
                raise RowRefused("key", _("nobody in this squad has the reference “%(key)s”.") % {"key": key})
            return self.by_key[key]
        found = self.by_name.get(name_key(name), [])
        if len(found) != 1:
            told = (
                _("two players have this name: add a column with their references.")
                if found
                else _("nobody in this squad has this name.")
            )
            raise RowRefused("player", told)
        return found[0]

    def occasion(self, row: Row) -> Occasion:
        day = self.day(row)
        if day is None:
            raise RowRefused("day", _("write a day like 6/10/2026 or 2026-10-06."))
        what = self.text(row, "what").casefold()
        if what and what not in MATCH_WORDS | TRAINING_WORDS:
            raise RowRefused("what", _("write training or match."))
        nights = [] if what in MATCH_WORDS else self.nights.get(day, [])
        matches = [] if what in TRAINING_WORDS else self.matches.get(day, [])
        found = [*nights, *matches]
        shown = {"day": date_format(day, "j M Y")}
        if not found:
            raise RowRefused("day", _("nothing took place on %(day)s.") % shown)
        if len(found) > 1:
            told = _("more than one thing took place on %(day)s: enter it in the list of that night or match.")
            raise RowRefused("day", told % shown)
        return found[0]

    def compared(self, where: str, told: RowTold) -> Line:
        key = told.player.pk, told.occasion.name
        if key in self.taken:
            raise RowRefused("", _("a row above says something of the same player and day."))
        self.taken.add(key)
        last, label = self.said.get(key), f"{told.player}, {told.occasion}"
        changes = tuple(changes_of(told, last))
        if not changes:
            return Line(where, label, State.SAME)
        self.rows.append(told)
        is_new = last is None or last.number is None
        return Line(where, label, State.NEW if is_new else State.CHANGED, changes)


def changes_of(told: RowTold, last: Rpe | None) -> Iterator[Change]:
    if last is None or told.number != last.number:
        yield Change(_("RPE"), number_words(last.number) if last else "", number_words(told.number))
    if told.minutes != (last.minutes if last else None):
        yield Change(_("minutes"), minutes_words(last.minutes if last else None), minutes_words(told.minutes))


def minutes_words(minutes: int | None) -> str:
    return _("as the record says") if minutes is None else str(minutes)


def whole(text: str, column: str, least: int, most: int) -> int:
    if not (text.isascii() and text.isdecimal() and least <= int(text[:9]) <= most):
        told = _("“%(text)s”: write a whole number from %(least)d to %(most)d.")
        raise RowRefused(column, told % {"text": text[:20], "least": least, "most": most})
    return int(text)


def by_day(occasions: Iterator[Occasion]) -> dict[dt.date, list[Occasion]]:
    found: dict[dt.date, list[Occasion]] = defaultdict(list)
    for each in occasions:
        found[each.day].append(each)
    return found
