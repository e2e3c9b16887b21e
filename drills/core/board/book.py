"""The distances and speeds that the board judges by. All of them are a club's own to change; none is published law."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

from drills.core.board.reach import Runner
from drills.core.fault import Fault, Path
from drills.core.values import shown

Range = tuple[float, float]
NUMBERS = tuple(range(1, 24))
ZONES = ("A", "B", "C", "D")


@dataclass(frozen=True, slots=True)
class Depths:
    """How deep each stands in a zone of the field, in metres behind the line: least and most.

    `near_wing` and `far_wing` when the ball is near a touch line, `wings` when it is in the middle. `sweep` is the
    half-back's; None where he stands in the line. At least `deep_count` of the back three are `deep_from` m or more.
    """

    full_back: Range
    far_wing: Range
    near_wing: Range
    wings: Range
    sweep: Range | None
    deep_count: int
    deep_from: float


DEPTHS = {
    "A": Depths((8, 14), (3, 8), (0, 3), (3, 6), None, 1, 6),
    "B": Depths((18, 25), (14, 20), (2, 6), (10, 14), (5, 8), 2, 10),
    "C": Depths((24, 32), (18, 26), (4, 10), (12, 18), (6, 10), 2, 12),
    "D": Depths((30, 40), (24, 34), (8, 14), (18, 26), (6, 12), 2, 15),
}
TOP_SPEED = {  # of grown amateurs, m/s
    **dict.fromkeys((1, 2, 3, 4, 5), 6.8),
    **dict.fromkeys((6, 7, 8), 7.4),
    **dict.fromkeys((9, 10, 12, 13), 7.8),
    **dict.fromkeys((11, 14, 15), 8.2),
}


@dataclass(frozen=True)
class Book:
    """Every figure of the rules. Ranges are least and most, in metres unless the name says seconds or degrees."""

    width: float = 70.0
    length: float = 100.0
    wide_ball: float = 23.0  # the ball is left or right within this of a touch line, else in the middle
    zone_ends: tuple[float, float, float] = (22.0, 50.0, 78.0)
    depths: Mapping[str, Depths] = field(default_factory=lambda: dict(DEPTHS))
    speeds: Mapping[int, float] = field(default_factory=lambda: dict(TOP_SPEED))
    usual_speed: float = 7.4
    reaction_seconds: float = 0.3
    tau_seconds: float = 0.9
    front_depth: float = 2.0  # whoever is no deeper than this stands in the line

    place_slack: float = 2.0  # how far off a place in the back field may be before a rule is broken
    near_wing_from_touch: Range = (3.0, 8.0)
    full_back_from_ball: Range = (-2.0, 12.0)
    far_wing_from_touch: Range = (18.0, 28.0)
    full_back_off_centre: float = 6.0
    wings_from_touch: Range = (9.0, 15.0)
    wings_level: float = 4.0
    full_back_to_far_wing: float = 32.0
    full_back_to_near_wing: float = 14.0
    full_back_to_wing: float = 30.0
    deeper_than_wing: float = 4.0
    deeper_slack: float = 1.0
    swing_slack_seconds: float = 0.5
    margin_slack_seconds: float = 0.3

    sweeper_from_ball: float = 8.0
    open_side_from_touch: float = 15.0
    lifted_full_back: Range = (12.0, 15.0)
    lifted_from_ball: float = 10.0
    lowered_far_wing: Range = (18.0, 22.0)
    back_in_sweep_seconds: float = 5.0
    back_in_sweep_slack_seconds: float = 1.0
    sweepers_apart: float = 10.0
    full_back_alone: float = 15.0
    overload: int = -2

    guard_across: float = 1.0
    guard_behind: float = 0.5
    bodyguard: Range = (1.5, 3.0)
    third_man: Range = (3.5, 6.0)
    ruck_slack: float = 0.5
    guard_slack: float = 0.3
    short_side_needs_bodyguard: float = 10.0
    around_ball: float = 6.0
    around_ball_in_play: float = 5.0
    least_around_ball: int = 3
    most_in_ruck: int = 2
    fold_seconds: float = 3.0
    fold_slack_seconds: float = 0.5

    straight_set: float = 1.0
    straight_moving: float = 1.5
    step: float = 1.0
    step_slack: float = 0.2
    ahead: float = 0.5
    ahead_in_jam: float = 1.5
    tilt_set_degrees: float = 5.0
    tilt_drift_degrees: float = 12.0
    gap_growth: float = 1.6
    stretched_gap: float = 6.0
    inside_attacker: Range = (0.5, 2.0)
    inside_slack: float = 0.3
    last_man: float = 8.0
    last_man_slack: float = 1.0
    arm: float = 1.0  # a tackler reaches this far

    def zone(self, line: float) -> str:
        """A own 22, B to halfway, C to the other 22, D beyond; a line belongs to the zone before it."""
        return ZONES[sum(line > end for end in self.zone_ends)]

    def runner(self, number: int | None, speed: float | None = None) -> Runner:
        top = speed or self.speeds.get(number or 0, self.usual_speed)
        return Runner(top, self.reaction_seconds, self.tau_seconds)

    def changed(self, own: Mapping[str, Any]) -> Book:
        """With a club's own figures in place of ours. `faults_of` should have found nothing wrong with them."""
        plain = {name: _same_kind(value) for name, value in own.items() if name not in ("depths", "speeds")}
        depths = {zone: _depths(own.get("depths", {}).get(zone, {}), self.depths[zone]) for zone in ZONES}
        speeds = {**self.speeds, **{int(number): float(top) for number, top in own.get("speeds", {}).items()}}
        return replace(self, depths=depths, speeds=speeds, **plain)


def _depths(own: Mapping[str, Any], ours: Depths) -> Depths:
    return replace(ours, **{name: _same_kind(value) for name, value in own.items()})


def _same_kind(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


OURS = Book()
PLAIN = {each.name for each in fields(Book)} - {"depths", "speeds"}
ABOVE_NOTHING = {"width", "length", "usual_speed", "tau_seconds", "gap_growth"}


def faults_of(own: Any, path: Path = ()) -> Iterator[Fault]:
    """What is wrong with figures that somebody wants in place of ours, parsed from JSON."""
    if not isinstance(own, Mapping):
        yield Fault(path, f"is {shown(own)}; it should be a set of figures in braces")
        return
    for name, value in own.items():
        if name == "depths":
            yield from _faults_of_depths(value, (*path, name))
        elif name == "speeds":
            yield from _faults_of_speeds(value, (*path, name))
        elif name not in PLAIN:
            yield Fault(path, f"{shown(name)} is no figure of the board")
        else:
            yield from _faults_like(value, getattr(OURS, name), (*path, name), name in ABOVE_NOTHING)


def _faults_of_depths(value: Any, path: Path) -> Iterator[Fault]:
    if not isinstance(value, Mapping) or not set(value) <= set(ZONES):
        yield Fault(path, "should be a set of zones: A, B, C, D")
        return
    for zone, own in value.items():
        for name, figure in own.items() if isinstance(own, Mapping) else [("", own)]:
            if name not in {each.name for each in fields(Depths)}:
                yield Fault((*path, zone), f"{shown(name)} is no figure of a zone")
            elif not (name == "sweep" and figure is None):
                like = getattr(DEPTHS[zone], name) or (5.0, 8.0)
                yield from _faults_like(figure, like, (*path, zone, name), False)


def _faults_of_speeds(value: Any, path: Path) -> Iterator[Fault]:
    if not isinstance(value, Mapping):
        yield Fault(path, "should be a set of jersey numbers with speeds in m/s")
        return
    for number, top in value.items():
        if not str(number).isdecimal() or int(number) not in NUMBERS:
            yield Fault(path, f"{shown(number)} is no jersey number from 1 to 23")
        elif not _is_figure(top) or not 1 <= top <= 13:
            yield Fault((*path, str(number)), f"is {shown(top)}; a speed is 1 to 13 m/s")


def _faults_like(value: Any, ours: Any, path: Path, above_nothing: bool) -> Iterator[Fault]:
    if isinstance(ours, tuple):
        if not isinstance(value, list | tuple) or len(value) != len(ours) or not all(map(_is_figure, value)):
            yield Fault(path, f"is {shown(value)}; it should be a list of {len(ours)} numbers")
        elif list(value) != sorted(value):
            yield Fault(path, "should rise: the least first")
    elif not _is_figure(value) or (isinstance(ours, int) and value != int(value)):
        yield Fault(path, f"is {shown(value)}; it should be a {'whole ' if isinstance(ours, int) else ''}number")
    elif above_nothing and value <= 0:
        yield Fault(path, "should be more than 0")
    elif value < 0 and ours >= 0:
        yield Fault(path, "should be 0 or more")


def _is_figure(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1000
