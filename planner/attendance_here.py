"""Who is here, as the page of the night shows it: a line for each player, and the counts above them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from planner.attendance import clock_words, replies_of
from planner.attendance_models import Mark, MarkState
from planner.core.presence import HERE, LATE, OPEN, state_of
from planner.days import Days
from planner.models import Session
from shared.core.contact import Level
from squads.models import Player

PRESENT = (HERE, LATE)


@dataclass(frozen=True)
class HereLine:
    """`expected`: nothing that is known says that he does not come. `marks` are all of his, of that night."""

    player: Player
    level: Level
    expected: bool
    said: str
    marks: Mapping[str, Mark] = field(default_factory=dict)

    @cached_property
    def found(self):
        return state_of([mark.as_tap() for mark in self.marks.values()])

    @property
    def state(self) -> str:
        return self.found.tap.state if self.found else OPEN

    @property
    def word(self) -> str:
        return str(MarkState(self.state).label)

    @property
    def seen(self) -> str:
        """Keys that the next tap answers, for a form."""
        return ",".join(tap.key for tap in self.found.heads) if self.found else ""

    @property
    def by(self) -> str:
        return self.marks[self.found.tap.key].by_name if self.found else ""

    @property
    def rivals(self) -> list[str]:
        """What others said meanwhile, who did not know of the mark that counts."""
        rivals = [self.marks[tap.key] for tap in self.found.rivals] if self.found else []
        return [f"{mark.by_name}: {mark.get_state_display()}" for mark in rivals]

    @property
    def is_here(self) -> bool:
        return self.state in PRESENT

    @property
    def is_non_contact(self) -> bool:
        return self.level is Level.NONE

    @property
    def is_out(self) -> bool:
        """Here, but not to train: a person decided that."""
        return self.is_here and self.level is Level.ABSENT

    def to_json(self) -> dict[str, Any]:
        return {"state": self.state, "word": self.word, "seen": self.seen, "by": self.by, "rivals": self.rivals}


@dataclass(frozen=True)
class Here:
    session: Session
    lines: tuple[HereLine, ...]

    @property
    def here(self) -> list[HereLine]:
        return [line for line in self.lines if line.is_here]

    @property
    def open(self) -> list[HereLine]:
        """Expected, and nobody has marked them yet."""
        return [line for line in self.lines if line.state == OPEN and line.expected]

    @property
    def contact(self) -> int:
        return sum(line.level not in (Level.NONE, Level.ABSENT) for line in self.here)

    @property
    def non_contact(self) -> int:
        return sum(line.is_non_contact for line in self.here)

    @property
    def rest(self) -> list[HereLine]:
        """Those who are taken for not here once the night begins: whoever said from when he comes is waited for."""
        return [line for line in self.open if not line.said]

    def by_group(self) -> list[HereLine]:
        return sorted(self.lines, key=lambda line: (line.player.main_position, *by_name(line)))

    def by_surname(self) -> list[HereLine]:
        return sorted(self.lines, key=by_name)


def by_name(line: HereLine) -> tuple[str, str]:
    return line.player.family_name.casefold(), line.player.given_name.casefold()


def here_of(session: Session) -> Here:
    """In a fixed number of queries; the squad's club should be fetched with the session."""
    days = Days.of(session.squad, session.day, session.day)
    night = next(each for each in days.sessions if each.pk == session.pk)
    marks, replies = marks_of(session), replies_of([night])
    return Here(night, tuple(lines_of(days, night, marks, replies)))


def lines_of(days: Days, night: Session, marks: Mapping[int, dict], replies: Mapping) -> Iterable[HereLine]:
    for player in days.players.values():
        level, word = days.ceiling(player, night).level, days.word(player, night)
        said = clock_words(night, word.starts, word.ends) if word and (player.pk, night.pk) in replies else ""
        yield HereLine(player, level, level is not Level.ABSENT, said, marks.get(player.pk, {}))


def marks_of(session: Session) -> dict[int, dict[str, Mark]]:
    found: dict[int, dict[str, Mark]] = {}
    for mark in Mark.objects.filter(session=session):
        found.setdefault(mark.player_id, {})[str(mark.key)] = mark
    return found
