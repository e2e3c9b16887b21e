"""Around the ball: guards, bodyguards, threes and counts. Rules R1 to R7."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from drills.core.board.reach import seconds_to
from drills.core.board.scene import Call, Defender, Ruck, Scene
from drills.core.board.verdict import Finding, Verdict, verdict

NO_RUCK, NO_ATTACKERS = "no ruck", "no attackers"
SIDES = (-1, 1)  # left, right


@dataclass(frozen=True)
class Wing:
    """One side of the ruck: `men` of the line from the ruck outwards, and metres of grass to the touch line."""

    scene: Scene
    ruck: Ruck
    side: int

    @property
    def name(self) -> str:
        return "left" if self.side < 0 else "right"

    @property
    def is_open(self) -> bool:
        return self.side == self.scene.open_side

    @property
    def men(self) -> tuple[Defender, ...]:
        mine = [man for man in self.scene.front if self.out(man) >= -self.scene.book.guard_slack]
        return tuple(sorted(mine, key=self.out))

    def out(self, man: Defender) -> float:
        """Metres outside the edge of the ruck."""
        return self.side * (man.x - self.ruck.edge(self.side))

    @property
    def grass(self) -> float:
        edge = self.ruck.edge(self.side)
        return edge if self.side < 0 else self.scene.book.width - edge


def around_the_ball(scene: Scene) -> Iterator[Verdict]:
    wings = [Wing(scene, scene.ruck, side) for side in SIDES] if scene.ruck else []
    yield verdict("R1", (f for wing in wings for f in guard(wing)), NO_RUCK)
    yield verdict("R2", (f for wing in wings for f in bodyguard(wing)), NO_RUCK)
    yield verdict("R3", (f for wing in wings if wing.is_open for f in third(wing)), NO_RUCK)
    yield verdict("R4", threes(scene), "nobody in the line")
    yield verdict("R5", counts(scene), NO_ATTACKERS)
    yield verdict("R6", in_ruck(scene), NO_RUCK if scene.ruck is None else "counter-ruck called")
    yield verdict("R7", (f for wing in wings for f in fold(wing)), NO_RUCK)


def guard(wing: Wing) -> Iterator[Finding]:
    book, men = wing.scene.book, wing.men
    if not men:
        yield Finding("R1", "guards", 0.0, 1.0, unit="", at=wing.name)
        return
    man, slack = men[0], book.guard_slack
    across, behind = max(wing.out(man), 0.0), wing.ruck.foot - man.y
    yield Finding("R1", "from ruck", across, high=book.guard_across, slack=slack, who=man.number, at=wing.name)
    yield Finding("R1", "behind foot", behind, 0.0, book.guard_behind, slack, who=man.number, at=wing.name)


def bodyguard(wing: Wing) -> Iterator[Finding]:
    book = wing.scene.book
    if wing.is_open or wing.grass >= book.short_side_needs_bodyguard:
        yield from nth(wing, 1, "R2", "bodyguards", book.bodyguard)


def third(wing: Wing) -> Iterator[Finding]:
    yield from nth(wing, 2, "R3", "third men", wing.scene.book.third_man)


def nth(wing: Wing, place: int, rule: str, missing: str, wanted: tuple[float, float]) -> Iterator[Finding]:
    if len(wing.men) <= place:
        yield Finding(rule, missing, 0.0, 1.0, unit="", at=wing.name)
        return
    man = wing.men[place]
    slack = wing.scene.book.ruck_slack
    yield Finding(rule, "from ruck", wing.out(man), *wanted, slack, who=man.number, at=wing.name)


def threes(scene: Scene) -> Iterator[Finding]:
    """R4: at a ruck so many within reach of the ball; in open play one on the ball and one each side of him."""
    if not scene.front:
        return
    book, x = scene.book, scene.ball[0]
    within = book.around_ball if scene.ruck else book.around_ball_in_play
    near = sum(np.hypot(man.x - x, man.y - scene.ball[1]) <= within for man in scene.front)
    yield Finding("R4", "around the ball", float(near), book.least_around_ball, unit="")


def difference(scene: Scene, side: int) -> int:
    """Defenders in the line less attackers on that side of the ball."""
    x = scene.ruck.edge(side) if scene.ruck else scene.ball[0]
    ours = sum((man.x - x) * side >= 0 for man in scene.front)
    return ours - sum((place[0] - x) * side >= 0 for place in scene.attackers)


def counts(scene: Scene) -> Iterator[Finding]:
    """R5: as many as they have; one fewer on the open side is near, or right where drift is called."""
    if not scene.attackers or not scene.front:
        return
    for side in SIDES:
        is_open = side == scene.open_side
        least = -1 if is_open and Call.DRIFT in scene.calls else 0
        slack = float(least - scene.book.overload - 1) if is_open else 0.0
        name = "left" if side < 0 else "right"
        yield Finding("R5", "count", difference(scene, side), least, slack=max(slack, 0.0), unit="", at=name)


def in_ruck(scene: Scene) -> Iterator[Finding]:
    if scene.ruck and Call.COUNTER_RUCK not in scene.calls:
        yield Finding("R6", "in the ruck", float(len(scene.ruck.inside)), high=scene.book.most_in_ruck, unit="")


def fold(wing: Wing) -> Iterator[Finding]:
    """R7: how long until the side has its guard and bodyguard, from those it has and the nearest of the other side.

    The far side of the fold is the open side; whoever is to fold runs from where he stands to the missing place.
    """
    if not wing.is_open:
        return
    book = wing.scene.book
    spots = (book.guard_across, sum(book.bodyguard) / 2)
    missing = spots[len(wing.men) :]
    spare = sorted(Wing(wing.scene, wing.ruck, -wing.side).men[2:], key=lambda man: abs(man.x - wing.ruck.x))
    taken = [0.0] if not missing else []
    for spot, man in zip(missing, spare, strict=False):
        x, y = wing.ruck.edge(wing.side) + wing.side * spot, wing.ruck.foot
        taken.append(float(seconds_to(np.hypot(man.x - x, man.y - y), wing.scene.runner(man))))
    if len(taken) < len(missing):
        yield Finding("R7", "men to fold", float(len(spare)), float(len(missing)), unit="", at=wing.name)
    elif taken:
        yield Finding(
            "R7", "folded after", max(taken), high=book.fold_seconds, slack=book.fold_slack_seconds,
            unit="s", at=wing.name,
        )  # fmt: skip
