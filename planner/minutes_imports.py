"""A file of match minutes against what was told so far: a preview, and the minutes that confirming it would add.

Columns: player (or first and last name, or his reference), date or match or both, minutes, and if wanted who told it.
Only matches of the squad's own: those for other teams are entered on the player's page.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.columns import NOTHING_CHOSEN, ListOf, Reading, columns_told
from planner.core.record import LONGEST
from planner.models import Fixture, FixtureState
from planner.record_models import MatchMinutes
from shared.clock import today_at
from shared.days import day_in
from shared.preview import Change, Line, Preview, RowRefused, State
from shared.tables import Row, read_table
from squads.matching import name_key
from squads.models import Player, Squad

LONGEST_TOLD = MatchMinutes._meta.get_field("declared_by").max_length
Key = tuple[int, int]  # of a player and a match


def missing_in(columns: Mapping[str, str]) -> list[str]:
    """What no such list can do without. A number on a shirt names nobody: whoever comes on may wear another."""
    has_name = "player" in columns or {"given_name", "family_name"} <= columns.keys()
    wanted = (
        (_("player"), has_name or "reference" in columns),
        (_("date"), "date" in columns or "match" in columns),
        (_("minutes"), "minutes" in columns),
    )
    return [word for word, is_there in wanted if not is_there]


MINUTES = ListOf(
    titles={
        "player": gettext_lazy("player"),
        "given_name": gettext_lazy("first name"),
        "family_name": gettext_lazy("last name"),
        "reference": gettext_lazy("reference"),
        "date": gettext_lazy("date"),
        "match": gettext_lazy("match"),
        "minutes": gettext_lazy("minutes"),
        "told": gettext_lazy("told by"),
    },
    headers={
        "player": ("player", "name", "fullname", "playername", "playersname"),
        "given_name": ("firstname", "givenname", "forename", "first", "knownas"),
        "family_name": ("lastname", "surname", "familyname", "last"),
        "reference": (
            "reference", "ref", "refno", "playerid", "memberid", "memberno", "membernumber", "membershipno",
            "membershipnumber", "registration", "registrationno", "registrationnumber", "clubno", "id", "key",
        ),
        "date": ("date", "matchdate", "fixturedate", "day", "dateofmatch", "when"),
        "match": ("match", "opponent", "opponents", "opposition", "fixture", "against", "versus", "vs"),
        "minutes": ("minutes", "minutesplayed", "mins", "min", "minsplayed", "played", "playingtime", "gametime"),
        "told": ("toldby", "whotold", "told", "declaredby", "source", "saidby"),
    },
    missing=missing_in,
    days=("date",),
    advice=(
        gettext_lazy("Name the columns player (or reference), date or match, and minutes; and if wanted told by."),
        gettext_lazy("Without who told it the name of the file stands there."),
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Told:
    player: Player
    match: Fixture
    minutes: int
    told_by: str

    @property
    def key(self) -> Key:
        return self.player.pk, self.match.pk


@dataclass(frozen=True, slots=True)
class MinutesImport:
    """`rows` would write something; `seen`: the row that stands for each of them now."""

    preview: Preview
    rows: tuple[Told, ...]
    seen: Mapping[Key, int]

    @property
    def last_day(self) -> dt.date | None:
        """Of the matches that it writes something of."""
        return max((row.match.day for row in self.rows), default=None)


def minutes_in(squad: Squad, content: bytes, filename: str) -> MinutesImport:
    """Compare a file with what was told so far, in three queries; nothing is written. Raises Unreadable."""
    table = read_table(content, filename)
    reading = MINUTES.reading_of(table, NOTHING_CHOSEN)
    told_by = (_("file %(name)s") % {"name": filename})[:LONGEST_TOLD]
    comparison = Comparison(squad, reading, told_by, timezone.now(), today_at(squad.club))
    lines = tuple(comparison.line(row) for row in table.rows)
    seen = {key: row.pk for key, row in comparison.known.items()}
    return MinutesImport(Preview(lines, origin=columns_told(table, reading)), tuple(comparison.rows), seen)


@dataclass
class Comparison:
    """`told_by`: for rows that do not say who told it."""

    squad: Squad
    reading: Reading
    told_by: str
    now: dt.datetime
    today: dt.date
    rows: list[Told] = field(default_factory=list)
    taken: dict[Key, str] = field(default_factory=dict)  # where the file says something of a player and match

    def __post_init__(self) -> None:
        self.by_reference: dict[str, Player] = {}
        self.by_name: dict[str, list[Player]] = defaultdict(list)
        for player in self.squad.players.select_related("squad__club"):
            self.by_reference[player.key] = player
            self.by_name[name_key(str(player))].append(player)
        self.matches = list(self.squad.fixtures.select_related("squad__club"))
        rows = MatchMinutes.objects.filter(fixture__squad=self.squad).counting()
        self.known: dict[Key, MatchMinutes] = {(row.player_id, row.fixture_id): row for row in rows}

    def text(self, row: Row, name: str) -> str:
        return row.text(self.reading.columns.get(name, ""))

    def line(self, row: Row) -> Line:
        where = _("row %(row)d") % {"row": row.number}
        try:
            return self.compared(where, self.read(row))
        except RowRefused as refusal:
            label = self.name(row) or self.text(row, "reference") or "–"
            column = row.column or self.reading.columns.get(refusal.column, "")
            return Line(where, label[:120], State.REFUSED, column=column, reason=refusal.reason)

    def read(self, row: Row) -> Told:
        if row.problem:
            raise RowRefused("", row.problem)
        player, match = self.player(row), self.match(row)
        if (player.joined and match.day < player.joined) or (player.left and player.left < match.day):
            shown = {"player": player.sheet_name, "day": date_format(match.day, "j M Y")}
            raise RowRefused("date", _("%(player)s was not in the squad on %(day)s.") % shown)
        told_by = self.text(row, "told")
        if len(told_by) > LONGEST_TOLD:
            raise RowRefused("told", _("longer than %(most)d letters.") % {"most": LONGEST_TOLD})
        return Told(player, match, self.minutes(row), told_by or self.told_by)

    def name(self, row: Row) -> str:
        return self.text(row, "player") or f"{self.text(row, 'given_name')} {self.text(row, 'family_name')}".strip()

    def player(self, row: Row) -> Player:
        """By his reference where there is one, as in the list of the squad; else by his full name."""
        if reference := self.text(row, "reference"):
            if reference not in self.by_reference:
                told = _("nobody in this squad has the reference “%(reference)s”.")
                raise RowRefused("reference", told % {"reference": reference[:40]})
            return self.by_reference[reference]
        found = self.by_name.get(name_key(self.name(row)), [])
        if len(found) != 1:
            column = "player" if "player" in self.reading.columns else "family_name"
            raise RowRefused(
                column,
                _("two players have this name: add a column with their references.")
                if found
                else _("nobody in this squad has this name."),
            )
        return found[0]

    def match(self, row: Row) -> Fixture:
        """The one that the row names, and that has been played."""
        day, opponent = self.day(row), self.text(row, "match")
        if day is None and not opponent:
            raise RowRefused("date", _("say which match: its date, or the opponent."))
        column = "match" if day is None else "date"
        found = [match for match in self.matches if day in (None, match.day)]
        if not found:
            told = _("the squad has no match on %(day)s: it is entered in the calendar first.")
            raise RowRefused("date", told % {"day": date_format(day, "j M Y")})
        if opponent:
            column, found = "match", [each for each in found if name_key(each.opponent) == name_key(opponent)]
        if not found:
            raise RowRefused("match", _("the squad has no match against “%(name)s” then.") % {"name": opponent[:60]})
        if len(found) > 1:
            told = _("there is more than one such match: give the date and the opponent, or use the page of the match.")
            raise RowRefused(column, told)
        refuse_unplayed(found[0], self.today, column)
        return found[0]

    def day(self, row: Row) -> dt.date | None:
        """None where the row has none. The time of a kick-off may stand behind it."""
        text = self.text(row, "date")
        if not text:
            return None
        try:
            found = day_in(text, self.now.year) or day_in(text.split(" ")[0].split("T")[0], self.now.year)
        except ValueError:
            found = None
        if found is None:
            raise RowRefused("date", _("“%(text)s”: write a day like 10/10/2026 or 2026-10-10.") % {"text": text[:30]})
        return found

    def minutes(self, row: Row) -> int:
        """An empty cell is not 0: nobody has told how long he played."""
        text = self.text(row, "minutes")
        if not (text.isascii() and text.isdecimal() and int(text[:9]) <= LONGEST):
            told = _("“%(text)s”: write a whole number from 0 to %(most)d; 0 if he did not play.")
            raise RowRefused("minutes", told % {"text": text[:20], "most": LONGEST})
        return int(text)

    def compared(self, where: str, told: Told) -> Line:
        if earlier := self.taken.get(told.key):
            raise RowRefused("", _("%(where)s says something of the same player and match.") % {"where": earlier})
        self.taken[told.key] = where
        known, label = self.known.get(told.key), f"{told.player}, {told.match}"
        if known is not None and known.minutes == told.minutes:
            return Line(where, label, State.SAME)
        self.rows.append(told)
        return Line(where, label, State.NEW if known is None else State.CHANGED, tuple(changes_of(told, known)))


def refuse_unplayed(match: Fixture, today: dt.date, column: str) -> None:
    """As the page of the match has it."""
    if match.state != FixtureState.PLANNED:
        told = {"match": match, "state": match.get_state_display()}
        raise RowRefused(column, _("%(match)s is %(state)s: nobody has played in it.") % told)
    if match.day > today:
        raise RowRefused(column, _("%(match)s is still to come.") % {"match": match})


def changes_of(told: Told, known: MatchMinutes | None) -> Iterator[Change]:
    yield Change(_("minutes"), str(known.minutes) if known else "", str(told.minutes))
    if known is None or known.declared_by != told.told_by:
        yield Change(_("told by"), known.declared_by if known else "", told.told_by)
