"""Scenes that the tests of the board share. The three worked ones were computed by hand for a line on 40 m."""

from __future__ import annotations

from drills.core.board.scene import Defender, Kick, Scene

LINE = 40.0


def scene(ball: float, men: dict[int, tuple[float, float]], kicks=(), *, line: float = LINE, **more) -> Scene:
    """`men`: number -> x and depth; `kicks`: name, x, depth, hang, bounce."""
    return Scene(
        ball=(ball, line),
        line=line,
        defenders=tuple(Defender(number, x, line - depth) for number, (x, depth) in men.items()),
        kicks=tuple(Kick(name, x, line - depth, hang, bounce) for name, x, depth, hang, bounce in kicks),
        **more,
    )


BALL_LEFT = scene(
    12,
    {11: (7, 3), 15: (17, 22), 14: (46, 17), 9: (17, 6)},
    [
        ("chip", 20, 10, 1.9, 0),
        ("box", 8, 22, 4.0, 0),
        ("near corner", 4, 35, 3.6, 0.8),
        ("middle", 35, 40, 3.8, 0.8),
        ("far corner", 64, 38, 4.0, 0.8),
        ("flat cross-kick", 66, 10, 3.4, 0),
    ],
)
BALL_MIDDLE = scene(
    35,
    {11: (11, 10), 15: (35, 24), 14: (59, 10), 9: (38, 6)},
    [("left corner", 4, 38, 3.8, 0.8), ("right corner", 66, 38, 3.8, 0.8), ("middle", 35, 42, 3.8, 0.8)],
)
LINE_X = (21, 23, 26, 30, 35, 40.5, 47)
BENT_Y = (44.8, 44.9, 44.7, 44.6, 43.2, 44.6, 44.5)
STRAIGHT_Y = (44.8, 44.9, 44.7, 44.6, 44.6, 44.6, 44.5)


def row(ys, xs=LINE_X, **more) -> Scene:
    """A line right of the ball, onside at 45 m, numbered from 1."""
    men = tuple(Defender(number, x, y) for number, (x, y) in enumerate(zip(xs, ys, strict=True), 1))
    return Scene(ball=(20, 45), line=45, defenders=men, offside=45, **more)


def verdicts(found) -> dict[str, str]:
    """Rule -> state, of the rules that were asked."""
    return {each.rule: each.state.key for each in found if each.findings}
