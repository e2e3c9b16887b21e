"""What the fixed facts of a problem rule out by themselves, before any other station is thought of.

A bar is one rule that keeps a drill out of a slot, or a player away from a drill in a slot, whatever
else is planned. Where no bar stands, other stations may still be in the way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from planner.core import words as say
from planner.core.problem import Contact, Drill, LadderRule, Lock, Player, Problem, Session
from planner.core.sheet import TOLERANCE
from planner.core.wishes import Place
from planner.core.words import Words


@dataclass(frozen=True, slots=True)
class SlotBar:
    """A rule that may keep a drill out of a slot, and the sentence that says so."""

    rule: str
    stands: Callable[[Problem, Drill, Session, int], bool]
    text: Callable[[Words, Drill, Session, int], str]


@dataclass(frozen=True, slots=True)
class PlayerBar:
    """A rule that may keep a player away from a drill in a slot, and the sentence that says so."""

    rule: str
    stands: Callable[[Reach, Player, Drill, Session, int], bool]
    text: Callable[[Words, Player, Drill, Session, int], str]


class Reach:
    """Answers for one problem; answers are kept, so asking again costs nothing."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._slots: dict[tuple[str, str], tuple[int, ...]] = {}
        self._allowed: dict[tuple[str, str, int, str], bool] = {}
        self._earned: dict[tuple[str, str, int, str], int] = {}

    def slot_bar(self, place: Place) -> SlotBar | None:
        drill, session = self.problem.drill(place.drill), self.problem.session(place.session)
        return next((bar for bar in SLOT_BARS if bar.stands(self.problem, drill, session, place.slot)), None)

    def player_bar(self, player: str, place: Place) -> PlayerBar | None:
        who, drill = self.problem.player(player), self.problem.drill(place.drill)
        session = self.problem.session(place.session)
        return next((bar for bar in PLAYER_BARS if bar.stands(self, who, drill, session, place.slot)), None)

    def slots(self, session: str, drill: str) -> tuple[int, ...]:
        """The slots of the session that the drill could run in."""
        key = session, drill
        if key not in self._slots:
            slots = range(len(self.problem.session(session).slots))
            self._slots[key] = tuple(s for s in slots if self.slot_bar(Lock(session, s, drill)) is None)
        return self._slots[key]

    def allows(self, player: str, place: Place) -> bool:
        key = player, place.session, place.slot, place.drill
        if key not in self._allowed:
            self._allowed[key] = self.player_bar(player, place) is None
        return self._allowed[key]

    def who(self, place: Place) -> list[Player]:
        """The players who could stand at the drill in that slot."""
        return [player for player in self.problem.players if self.allows(player.id, place)]

    def short_of(self, place: Place) -> list[tuple[str | None, int, int]]:
        """(role, there, wanted) where those who could stand there are too few; role None: players of any kind."""
        drill, who = self.problem.drill(place.drill), self.who(place)
        wanted: list[tuple[str | None, int]] = [(None, drill.players[0]), *drill.needs.items()]
        there = [sum(role is None or role in player.roles for player in who) for role, _ in wanted]
        return [(role, have, want) for (role, want), have in zip(wanted, there, strict=True) if have < want]

    def done_minutes(self, player: str, ladder: str, rung: int, day: date, rule: LadderRule) -> int:
        """Minutes at a rung, done before the block, that count on that day."""
        return sum(
            entry.minutes
            for entry in self.problem.player(player).done
            if (entry.ladder, entry.rung) == (ladder, rung) and 1 <= (day - entry.date).days <= rule.days
        )

    def rung_minutes(self, player: Player, ladder: str, rung: int, day: date, rule: LadderRule) -> int:
        """The most minutes at a rung that could count on that day, done or yet to be planned."""
        return self.done_minutes(player.id, ladder, rung, day, rule) + sum(
            self._earnable(player, ladder, rung, session)
            for session in self.problem.sessions
            if 1 <= (day - session.date).days <= rule.days
        )

    def _earnable(self, player: Player, ladder: str, rung: int, session: Session) -> int:
        """The most minutes at a rung in one session: a slot for each drill of the rung, the longest first."""
        key = player.id, ladder, rung, session.id
        if key not in self._earned:
            drills = self.rungs.get((ladder, rung), ())
            usable = [slots for drill in drills if (slots := self._open_to(player, drill, session))]
            longest = sorted((session.slots[s] for s in set().union(*usable)), reverse=True)
            self._earned[key] = sum(longest[: len(usable)])
        return self._earned[key]

    def _open_to(self, player: Player, drill: Drill, session: Session) -> set[int]:
        places = (Lock(session.id, slot, drill.id) for slot in self.slots(session.id, drill.id))
        return {place.slot for place in places if self.allows(player.id, place)}

    @cached_property
    def rungs(self) -> dict[tuple[str, int], list[Drill]]:
        """(ladder, rung) -> the drills that train it."""
        found: dict[tuple[str, int], list[Drill]] = {}
        for drill in self.problem.drills:
            if drill.ladder is not None:
                found.setdefault((drill.ladder, drill.rung), []).append(drill)
        return found


# --- a drill in a slot --------------------------------------------------------------------------------


def _wrong_minutes(_: Problem, drill: Drill, session: Session, slot: int) -> bool:
    return not drill.minutes[0] <= session.slots[slot] <= drill.minutes[1]


def _no_room(_: Problem, drill: Drill, session: Session, __: int) -> bool:
    return bool(lacks(drill, session))


def lacks(drill: Drill, session: Session) -> list[tuple[str, float, float]]:
    """(what, needed, there) of everything that the session has too little of for this one drill."""
    needs: list[tuple[str, float, float]] = [
        ("station", 1, session.stations),
        ("coaches", drill.coaches, session.coaches),
        ("m² of area", drill.area, session.area),
        *((item, n, session.kit.get(item, 0)) for item, n in drill.kit.items()),
    ]
    return [(what, needed, there) for what, needed, there in needs if needed > there + TOLERANCE]


def _never_repeats(problem: Problem, *_: object) -> bool:
    return problem.limits.repeats_per_week == 0


def _minutes_text(words: Words, drill: Drill, session: Session, slot: int) -> str:
    wanted = say.span(*drill.minutes, "minute")
    return f"{words.drill(drill.id)} takes {wanted} and {words.slot(session.id, slot)} has {session.slots[slot]}"


def _room_text(words: Words, drill: Drill, session: Session, _: int) -> str:
    what, needed, there = lacks(drill, session)[0]
    needs = f"{words.drill(drill.id)} needs {say.number(needed)} {words.other(what)}"
    return f"{needs} and {words.session(session.id)} has {say.number(there)}"


def _never_text(words: Words, drill: Drill, *_: object) -> str:
    return f"{words.drill(drill.id)} may not run at all, because no drill may run in any slot of a week"


def _never_in_the_block(_: Problem, drill: Drill, *__: object) -> bool:
    return drill.repeats.most == 0


def _no_theme(_: Problem, drill: Drill, session: Session, __: int) -> bool:
    return session.themes_most == 0 and drill.theme is not None


def _new_by_then(problem: Problem, drill: Drill, session: Session, _: int) -> bool:
    """Nothing new may run, and on no earlier date could the drill run in a session where something new may."""
    if not session.nothing_new or drill.id in problem.known:
        return False
    earlier = (other for other in problem.sessions if other.date < session.date and not other.nothing_new)
    return not any(
        not any(stands(problem, drill, other, slot) for stands in (_wrong_minutes, _no_room, _no_theme))
        for other in earlier
        for slot in range(len(other.slots))
    )


def _block_text(words: Words, drill: Drill, *_: object) -> str:
    return f"{words.drill(drill.id)} may not run in this block"


def _theme_text(words: Words, drill: Drill, session: Session, _: int) -> str:
    return f"{words.drill(drill.id)} has a theme and {words.session(session.id)} may have none"


def _new_text(words: Words, drill: Drill, session: Session, _: int) -> str:
    when = f"nothing new may run on {words.session(session.id)}"
    return f"{words.drill(drill.id)} is new to the squad, cannot run earlier in the block, and {when}"


SLOT_BARS = (
    SlotBar("H4", _wrong_minutes, _minutes_text),
    SlotBar("H3", _no_room, _room_text),
    SlotBar("H8", _never_repeats, _never_text),
    SlotBar("H15", _never_in_the_block, _block_text),
    SlotBar("H11", _no_theme, _theme_text),
    SlotBar("H12", _new_by_then, _new_text),
)


# --- a player at a drill in a slot --------------------------------------------------------------------


def _absent(reach: Reach, player: Player, _: Drill, session: Session, slot: int) -> bool:
    return not reach.problem.is_there(player.id, session.id, slot)


def _unfit(_: Reach, player: Player, drill: Drill, *__: object) -> bool:
    return not player.has(drill.roles)


def _too_hard(reach: Reach, player: Player, drill: Drill, session: Session, _: int) -> bool:
    return not reach.problem.ceiling(player.id, session.id).allows(drill.kind)


def _too_much(reach: Reach, player: Player, drill: Drill, session: Session, slot: int) -> bool:
    limit = reach.problem.limits.weekly.get(drill.kind)
    minutes = drill.contact_minutes(session.slots[slot])
    spent = player.spent(reach.problem.week_of(session.id), drill.kind)
    return limit is not None and minutes > TOLERANCE and spent + minutes > limit + TOLERANCE


def _no_full_days(reach: Reach, _: Player, drill: Drill, *__: object) -> bool:
    return drill.kind is Contact.FULL and reach.problem.limits.full_days_per_week == 0


def _rung_too_high(reach: Reach, player: Player, drill: Drill, session: Session, _: int) -> bool:
    rule = reach.problem.limits.ladder
    if rule is None or drill.ladder is None or drill.rung == 1:
        return False
    return reach.rung_minutes(player, drill.ladder, drill.rung - 1, session.date, rule) < rule.minutes


def _no_hard_slot(reach: Reach, _: Player, drill: Drill, *__: object) -> bool:
    rule = reach.problem.hard_row
    return rule is not None and rule.most == 0 and drill.rpe >= rule.rpe


def _absent_text(words: Words, player: Player, _: Drill, session: Session, slot: int) -> str:
    if words.problem.attends(player.id, session.id):
        return f"{words.player(player.id)} is not there for all of {words.slot(session.id, slot)}"
    return f"{words.player(player.id)} is absent on {words.session(session.id)}"


def _unfit_text(words: Words, player: Player, drill: Drill, *_: object) -> str:
    roles = say.listed((words.other(role) for role in drill.roles), "or")
    return f"{words.player(player.id)} does not fit {words.drill(drill.id)}, which is for {roles}"


def _too_hard_text(words: Words, player: Player, drill: Drill, session: Session, _: int) -> str:
    ceiling = say.AT_MOST[words.problem.ceiling(player.id, session.id)]
    what = f"{words.drill(drill.id)} is {say.KINDS[drill.kind]}"
    return f"{words.player(player.id)} {ceiling} on {words.session(session.id)} and {what}"


def _too_much_text(words: Words, player: Player, drill: Drill, session: Session, slot: int) -> str:
    week = words.problem.week_of(session.id)
    total = player.spent(week, drill.kind) + drill.contact_minutes(session.slots[slot])
    return (
        f"{words.player(player.id)} would have {words.spent(total, week, drill.kind)} minutes of "
        f"{say.KINDS[drill.kind]} in {say.week(week)} with {words.drill(drill.id)}; "
        f"the limit is {words.weekly_limit(week, drill.kind)}"
    )


def _no_full_days_text(words: Words, _: Player, drill: Drill, *__: object) -> str:
    return f"{words.drill(drill.id)} is full contact and no day of full contact is allowed"


def _rung_text(words: Words, player: Player, drill: Drill, session: Session, _: int) -> str:
    rule = words.problem.limits.ladder
    below = f"rung {drill.rung - 1} of {words.other(drill.ladder or '')}"
    minutes, days = (rule.minutes, rule.days) if rule else (0, 0)
    return (
        f"{words.player(player.id)} cannot have the {minutes} minutes at {below} that must come in the "
        f"{days} days before {words.drill(drill.id)} on {words.session(session.id)}"
    )


def _hard_text(words: Words, _: Player, drill: Drill, *__: object) -> str:
    return f"{words.drill(drill.id)} is RPE {drill.rpe} and nobody may stand at a drill so hard"


PLAYER_BARS = (
    PlayerBar("H1", _absent, _absent_text),
    PlayerBar("H2", _unfit, _unfit_text),
    PlayerBar("H5", _too_hard, _too_hard_text),
    PlayerBar("H6", _too_much, _too_much_text),
    PlayerBar("H7", _no_full_days, _no_full_days_text),
    PlayerBar("H14", _no_hard_slot, _hard_text),
    PlayerBar("H9", _rung_too_high, _rung_text),
)
