"""The form of one station of the record: what was typed, read into parts, with what cannot be read beside it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.core.record import LONGEST, Block, Part
from planner.core.retold import Stay, Stayed, TookPart, stayed_in, told_again
from planner.record_night import NightRecord
from shared.core.contact import RUNGS, Kind, kind_of
from squads.models import Player

MOST_PARTS = 12
STAYS = (
    (Stay.ALL, gettext_lazy("all of it")),
    (Stay.LATE, gettext_lazy("came late, minutes:")),
    (Stay.EARLY, gettext_lazy("left early, minutes:")),
    (Stay.NOT, gettext_lazy("not there")),
)
CONTACT = (
    (TookPart.AS_ALLOWED, gettext_lazy("contact as his status allows")),
    (TookPart.ALL, gettext_lazy("took part in all contact")),
    (TookPart.NONE, gettext_lazy("stood aside from contact")),
)
RUNG_CHOICES = tuple((rung.code, f"{rung.code} {rung.name}") for rung in RUNGS.values())


@dataclass
class PartRow:
    """One part as it is typed; without minutes it is none, unless it is the first."""

    number: int
    minutes: str = ""
    rung: str = ""
    share: str = ""
    initials: str = ""
    reason: str = ""
    wrongs: list[str] = field(default_factory=list)

    @property
    def is_further(self) -> bool:
        return self.number > 0

    @property
    def is_open(self) -> bool:
        """What stands above the card is shown unfolded."""
        return bool(self.initials or self.reason)


@dataclass
class PlayerRow:
    player: Player
    stay: str
    minutes: str
    took_part: str
    mark: str = ""
    is_exception: bool = False
    wrong: str = ""


@dataclass
class StationForm:
    """`problems` by the name of the field. `parts` and `told` hold what could be read."""

    night: NightRecord
    block: Block
    rows: list[PartRow] = field(default_factory=list)
    players: list[PlayerRow] = field(default_factory=list)
    problems: dict[str, str] = field(default_factory=dict)
    refused: list[str] = field(default_factory=list)
    seen: str = ""
    why: str = ""
    parts: tuple[Part, ...] = ()

    @classmethod
    def of(cls, night: NightRecord, block: Block) -> StationForm:
        """As the record tells it now."""
        standing = night.standing.get(block.spot)
        form = cls(night, block, seen=str(standing.pk) if standing else "")
        form.rows = [
            PartRow(n, str(part.minutes), part.rung, share_shown(part), part.initials, part.reason)
            for n, part in enumerate(block.parts)
        ]
        form.rows.append(PartRow(len(form.rows), rung=block.parts[-1].rung))
        form.players = [form.player_row(player, form.before(player)) for player in night.days.players.values()]
        return form

    @classmethod
    def read(cls, night: NightRecord, block: Block, given: QueryDict) -> StationForm:
        """As it was typed. A player whom the form did not hold stays as he was."""
        form = cls(night, block, seen=given.get("seen", ""), why=given.get("why", "").strip()[:200])
        words = ("minutes", "rung", "share", "initials", "reason")
        for n in range(MOST_PARTS):
            if f"minutes-{n}" not in given:
                break
            form.rows.append(PartRow(n, *(given.get(f"{word}-{n}", "").strip() for word in words)))
        told = {}
        for player in night.days.players.values():
            told[player.pk] = form.read_player(player, given)
        lengths = tuple(part for row in form.rows if (part := form.read_part(row)) is not None)
        for row in form.rows:
            names = (f"{word}-{row.number}" for word in words)
            row.wrongs = [form.problems[name] for name in names if name in form.problems]
        if not form.problems:
            form.parts = told_again(lengths, told, night.allowed, block)
        return form

    # Players

    def before(self, player: Player) -> Stayed:
        return stayed_in(self.block.parts, player.pk, self.night.allowed[player.pk])

    def player_row(self, player: Player, stayed: Stayed) -> PlayerRow:
        level = self.night.allowed[player.pk]
        minutes = str(stayed.minutes) if stayed.stay in {Stay.LATE, Stay.EARLY} else ""
        mark = "NC" if not level.allows(Kind.CONTROLLED) else ""
        return PlayerRow(player, stayed.stay, minutes, stayed.took_part, mark, self.is_named(player, stayed))

    def is_named(self, player: Player, stayed: Stayed) -> bool:
        """An exception: at this station, and not as everybody; or away although the plan holds him."""
        return player.pk in self.block.away or (stayed.stay is not Stay.NOT and stayed.is_exception)

    def read_player(self, player: Player, given: QueryDict) -> Stayed:
        before, name = self.before(player), player.pk
        if f"stay-{name}" not in given:
            self.players.append(self.player_row(player, before))
            return before
        row = self.player_row(player, before)
        row.stay, row.minutes = given[f"stay-{name}"], given.get(f"min-{name}", "").strip()
        row.took_part = given.get(f"contact-{name}", TookPart.AS_ALLOWED)
        self.players.append(row)
        stayed = self.stayed_of(row, f"min-{name}")
        row.wrong = self.problems.get(f"min-{name}", "")
        row.is_exception = self.is_named(player, stayed) or bool(row.wrong)
        return stayed

    def stayed_of(self, row: PlayerRow, name: str) -> Stayed:
        stay = Stay(row.stay) if row.stay in list(Stay) else Stay.ALL
        took_part = TookPart(row.took_part) if row.took_part in list(TookPart) else TookPart.AS_ALLOWED
        if stay is Stay.NOT:
            return Stayed(Stay.NOT)
        if stay is Stay.ALL:
            return Stayed(took_part=took_part)
        minutes = self.number(name, row.minutes, least=1)
        return Stayed(stay, minutes or 0, took_part)

    # Parts

    def read_part(self, row: PartRow) -> Part | None:
        if row.is_further and row.minutes in {"", "0"}:
            return None
        minutes = self.number(f"minutes-{row.number}", row.minutes)
        if row.rung not in RUNGS:
            self.problems[f"rung-{row.number}"] = _("Choose a rung.")
        if minutes is None or row.rung not in RUNGS:
            return None
        share = self.share_of(row)
        return Part(minutes, row.rung, share, self.block.parts[0].card_rung, {}, row.initials[:8], row.reason[:200])

    def share_of(self, row: PartRow) -> int:
        """As typed; else that of the part that ran at this rung, else that of the card."""
        if row.rung == "C0":
            return 0
        if row.share:
            return self.number(f"share-{row.number}", row.share, most=100) or 0
        same = next((part.share for part in self.block.parts if part.rung == row.rung), None)
        share = self.card_share if same is None else same
        if not share and kind_of(row.rung) is not Kind.NONE:
            self.problems[f"share-{row.number}"] = _("Say how many per cent of the time were contact.")
        return share

    @property
    def card_share(self) -> int:
        planned = self.night.planned.get(self.block.spot)
        return max(part.share for part in (*self.block.parts, *(planned.parts if planned else ())))

    def number(self, name: str, typed: str, *, least: int = 0, most: int = LONGEST) -> int | None:
        if typed.isascii() and typed.isdecimal() and len(typed) <= 4 and least <= int(typed) <= most:
            return int(typed)
        self.problems[name] = _("Write a whole number from %(least)d to %(most)d.") % {"least": least, "most": most}
        return None

    # What the page asks

    @property
    def is_valid(self) -> bool:
        return not self.problems

    @property
    def seen_key(self) -> int | None:
        return int(self.seen) if self.seen.isascii() and self.seen.isdecimal() and len(self.seen) < 19 else None

    @property
    def exceptions(self) -> list[PlayerRow]:
        return [row for row in self.players if row.is_exception]

    @property
    def there(self) -> list[PlayerRow]:
        return [row for row in self.players if not row.is_exception and row.stay != Stay.NOT]

    @property
    def elsewhere(self) -> list[PlayerRow]:
        return [row for row in self.players if not row.is_exception and row.stay == Stay.NOT]


def share_shown(part: Part) -> str:
    return str(part.share) if part.share else ""


def coaches_in(text: str) -> list[str]:
    """Names by commas or lines."""
    return [name for line in text.splitlines() for each in line.split(",") if (name := " ".join(each.split()))]


def players_in(given: Iterable[str], known: Mapping[int, Player]) -> list[int]:
    return [int(word) for word in given if word.isascii() and word.isdecimal() and int(word) in known]
