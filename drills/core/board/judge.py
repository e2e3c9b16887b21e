"""Every rule of the board over one scene."""

from __future__ import annotations

from drills.core.board.back_field import back_field
from drills.core.board.kicks import kick_verdict
from drills.core.board.line import line
from drills.core.board.ruck import around_the_ball
from drills.core.board.scene import Scene
from drills.core.board.verdict import Verdict


def judged(scene: Scene) -> tuple[Verdict, ...]:
    """P1 to P8, H1 to H5, R1 to R7, L1 to L8, in this order."""
    found = [*back_field(scene), kick_verdict(scene), *around_the_ball(scene), *line(scene)]
    return tuple(sorted(found, key=lambda each: ("PHRL".index(each.rule[0]), int(each.rule[1:]))))
