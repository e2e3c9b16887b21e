"""The reasons of a plan in sentences: why wishes stay short, player by player."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planner.build import session_id
from planner.core.explain import Explanation, Offer, Reason, Short, explain
from planner.core.moves import Kind, Move
from planner.core.words import Words, number
from planner.overview import Overview

SHOWN_NAMES = 4
UNSEEN = 0.05  # would be shown as 0


def explained(overview: Overview) -> Explanation:
    """The reasons of a programme that breaks no rule."""
    problem, still_open = overview.built.problem, {session_id(key) for key in overview.built.open_sessions}
    over = {session.id for session in problem.sessions} - still_open
    return explain(problem, overview.standing.stations, over)


@dataclass(frozen=True, slots=True)
class PlayerWhy:
    """One player's open wishes, the largest gap first, a sentence each."""

    player: str
    short: float
    lines: tuple[str, ...]

    def __str__(self) -> str:
        text = ngettext(
            "%(player)s: %(minutes)s min short in %(count)d skill",
            "%(player)s: %(minutes)s min short in %(count)d skills",
            len(self.lines),
        )
        return text % {"player": self.player, "minutes": minutes(self.short), "count": len(self.lines)}


@dataclass(frozen=True, slots=True)
class ReasonLine:
    """How many wishes stay short for one reason."""

    reason: str
    wishes: int


def minutes(amount: float) -> str:
    return number(round(amount, 1))


def players_why(explanation: Explanation, words: Words) -> list[PlayerWhy]:
    """Whoever is short of most comes first."""
    shorts: dict[str, list[Short]] = defaultdict(list)
    for short in explanation.shorts:
        shorts[short.target.player].append(short)
    found = [
        PlayerWhy(words.player(player), sum(short.short for short in each), tuple(_sentences(each, words)))
        for player, each in shorts.items()
    ]
    return sorted(found, key=lambda why: -why.short)


def reason_lines(explanation: Explanation) -> list[ReasonLine]:
    """In the order of Reason; reasons that nothing has are left out."""
    had = [short.reason for short in explanation.shorts]
    return [ReasonLine(str(told), had.count(reason)) for reason, told in REASONS.items() if reason in had]


REASONS = {
    Reason.NEVER_PRESENT: gettext_lazy("absent from every night that is left"),
    Reason.NO_DRILL: gettext_lazy("no drill that fits trains it on the nights that are left"),
    Reason.NO_TIME: gettext_lazy("every slot holds the drill that trains it most already: there is no more time"),
    Reason.CEILING: gettext_lazy("what is left of it needs more contact than is allowed on those days"),
    Reason.CONTACT_LIMIT: gettext_lazy("the weekly limit of contact stands in the way"),
    Reason.LADDER: gettext_lazy("the rung below is not earned in time"),
    Reason.HARD_ROW: gettext_lazy("it would be one hard slot in a row too many"),
    Reason.THEMES: gettext_lazy("the session has its themes already"),
    Reason.NOTHING_NEW: gettext_lazy("the drill would be new, and nothing new may run that day"),
    Reason.FRESH_FIRST: gettext_lazy("a drill for fresh players would come after a tiring one"),
    Reason.BLOCK: gettext_lazy("the drill runs often enough in the block, or would run too soon again"),
    Reason.KEPT_APART: gettext_lazy("somebody kept apart from the player stands there, or two others would meet"),
    Reason.UNITS: gettext_lazy("the drill keeps to another unit there"),
    Reason.NO_ROOM: gettext_lazy("no station that trains it has room, and no single change makes room"),
    Reason.ONE_MOVE: gettext_lazy("one change by hand would serve it and make the plan better"),
    Reason.LOAD_BAND: gettext_lazy("only the load of the week stands in the way"),
    Reason.OTHERS_FIRST: gettext_lazy("other wishes came first"),
}


def _sentences(shorts: Iterable[Short], words: Words) -> Iterable[str]:
    for short in sorted(shorts, key=lambda short: -short.short):
        text = _("%(skill)s, %(short)s of %(wanted)s min short: %(reason)s.") % {
            "skill": words.other(short.target.skill),
            "short": minutes(short.short),
            "wanted": short.target.minutes,
            "reason": REASONS[short.reason],
        }
        yield f"{text} {_offer(short, short.offer, words)}" if short.offer else text


def _offer(short: Short, offer: Offer, words: Words) -> str:
    told = {
        "move": seen_by(offer.move, short.target.player, words),
        "minutes": minutes(offer.minutes),
        "change": minutes(abs(offer.change)),
    }
    if abs(offer.change) < UNSEEN:
        return _("%(move)s would give %(minutes)s min; other wishes lose as much.") % told
    if offer.change < 0:
        return _("%(move)s would give %(minutes)s min; the plan gains %(change)s.") % told
    if offer.others > offer.own:
        return _("%(move)s would give %(minutes)s min; others lose more, by %(change)s.") % told
    return _("%(move)s would give %(minutes)s min; the player's own other wishes lose more, by %(change)s.") % told


def seen_by(move: Move, player: str, words: Words) -> str:
    """The move as one player meets it, to begin a sentence."""
    place = words.slot(move.session, move.slot)
    if move.kind is Kind.SWAP:
        told = {"drill": words.drill(move.drill), "left": words.drill(move.leaves or ""), "place": place}
        return _("%(drill)s for %(left)s on %(place)s") % told
    if move.kind is Kind.OPEN:
        return _("One more station, %(drill)s on %(place)s,") % {"drill": words.drill(move.drill), "place": place}
    drill, other = (move.leaves, move.players[0]) if player == move.other else (move.drill, move.other)
    told = {"drill": words.drill(drill) if drill else _("no station"), "place": place}
    if other is None:
        return _("Joining %(drill)s on %(place)s") % told
    return _("Changing places with %(other)s, %(drill)s on %(place)s,") % (told | {"other": words.player(other)})
