"""A scene on the board: the ball, the line, who stands where, and what may come: kicks, runners, the next moment."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from drills.core.board.book import OURS, Book
from drills.core.board.reach import Runner

FULL_BACK, LEFT_WING, RIGHT_WING, HALF_BACK = 15, 11, 14, 9
BACK_THREE = (LEFT_WING, FULL_BACK, RIGHT_WING)
OTHER_WING = {LEFT_WING: RIGHT_WING, RIGHT_WING: LEFT_WING}

Place = tuple[float, float]  # x and y


class Side(StrEnum):
    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"


class Call(StrEnum):
    """What the defence has called; each allows something that is a fault otherwise."""

    DRIFT = "drift"
    JAM = "jam"
    COUNTER_RUCK = "counter_ruck"


class Moment(StrEnum):
    """The line waits set at the ruck, or moves up, or drifts in open play."""

    SET = "set"
    MOVING = "moving"


@dataclass(frozen=True, slots=True)
class Defender:
    number: int
    x: float
    y: float
    speed: float | None = None  # top speed in m/s, if he has his own


@dataclass(frozen=True, slots=True)
class Ruck:
    """`foot`: y of the defenders' hindmost foot; `half_width`: from its middle to its edge; `inside`: who is in it."""

    x: float
    foot: float
    half_width: float = 0.5
    inside: tuple[int, ...] = ()

    def edge(self, side: int) -> float:
        """x of its left (-1) or right (1) edge."""
        return self.x + side * self.half_width


@dataclass(frozen=True, slots=True)
class Kick:
    """Where it comes down, and after how many seconds it can be taken: in the air, and bouncing on."""

    name: str
    x: float
    y: float
    hang: float
    bounce: float = 0.0

    @property
    def seconds(self) -> float:
        return self.hang + self.bounce


@dataclass(frozen=True, slots=True)
class Carrier:
    """A runner with the ball, at full speed from a place straight towards another."""

    name: str
    x: float
    y: float
    to_x: float
    to_y: float
    speed: float


@dataclass(frozen=True, slots=True)
class Next:
    """Where everybody should stand when the ball is played on, so many seconds later."""

    ball: Place
    seconds: float
    places: tuple[tuple[int, Place], ...]


@dataclass(frozen=True)
class Scene:
    """`line`: y of the defensive line. `sweeper`: who sweeps, the half-back or a deputy named for it."""

    ball: Place
    line: float
    defenders: tuple[Defender, ...]
    offside: float | None = None
    attackers: tuple[Place, ...] = ()
    ruck: Ruck | None = None
    sweeper: int = HALF_BACK
    calls: frozenset[Call] = frozenset()
    moment: Moment = Moment.SET
    kicks: tuple[Kick, ...] = ()
    carriers: tuple[Carrier, ...] = ()
    next: Next | None = None
    book: Book = OURS

    @property
    def zone(self) -> str:
        return self.book.zone(self.line)

    @property
    def side(self) -> Side:
        if self.ball[0] < self.book.wide_ball:
            return Side.LEFT
        return Side.RIGHT if self.ball[0] > self.book.width - self.book.wide_ball else Side.MIDDLE

    @property
    def open_side(self) -> int:
        """Which way the wide side lies: 1 to the right, -1 to the left."""
        return 1 if self.ball[0] <= self.book.width / 2 else -1

    def man(self, number: int) -> Defender | None:
        return next((each for each in self.defenders if each.number == number), None)

    def depth(self, man: Defender) -> float:
        return self.line - man.y

    def runner(self, man: Defender) -> Runner:
        return self.book.runner(man.number, man.speed)

    @property
    def front(self) -> tuple[Defender, ...]:
        """Those in the line, from left to right; whoever is in the ruck is not."""
        inside = self.ruck.inside if self.ruck else ()
        up = [m for m in self.defenders if self.depth(m) <= self.book.front_depth and m.number not in inside]
        return tuple(sorted(up, key=lambda man: man.x))

    @property
    def half_back_is_in_line(self) -> bool:
        return any(man.number == HALF_BACK for man in self.front)

    @property
    def back_field(self) -> tuple[Defender, ...]:
        """The back three, and whoever sweeps unless he stands in the line."""
        up = {man.number for man in self.front} - set(BACK_THREE)
        return tuple(m for m in self.defenders if m.number in (*BACK_THREE, self.sweeper) and m.number not in up)

    def with_places(self, places: Iterable[tuple[int, Place]]) -> Scene:
        """The same scene with these men somewhere else."""
        moved = dict(places)
        men = tuple(replace(m, x=moved[m.number][0], y=moved[m.number][1]) if m.number in moved else m
                    for m in self.defenders)  # fmt: skip
        return replace(self, defenders=men)

    def mirrored(self) -> Scene:
        """Left for right; the wings swap numbers, since each keeps his own side of the pitch."""
        width = self.book.width

        def across(place: Place) -> Place:
            return width - place[0], place[1]

        return replace(
            self,
            ball=across(self.ball),
            defenders=tuple(replace(m, number=other(m.number), x=width - m.x) for m in self.defenders),
            attackers=tuple(map(across, self.attackers)),
            ruck=self.ruck and replace(self.ruck, x=width - self.ruck.x, inside=tuple(map(other, self.ruck.inside))),
            sweeper=other(self.sweeper),
            kicks=tuple(replace(kick, x=width - kick.x) for kick in self.kicks),
            carriers=tuple(replace(each, x=width - each.x, to_x=width - each.to_x) for each in self.carriers),
            next=self.next
            and replace(
                self.next,
                ball=across(self.next.ball),
                places=tuple((other(number), across(place)) for number, place in self.next.places),
            ),
        )


def other(number: int) -> int:
    return OTHER_WING.get(number, number)
