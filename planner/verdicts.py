"""What an edit breaks, and who gains and who loses by it, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.build import BuiltProblem
from planner.core.check import Breach, breaches
from planner.core.compare import Delta, Figures, Part, Standing, deltas, raised_contact
from planner.core.words import Words, number
from planner.programme import Programme

# Rules about what a player collects over a week: breaking one further is a new breach although it was broken before.
COLLECTED = {"H6", "H7"}


@dataclass(frozen=True, slots=True)
class Verdict:
    """`breaches`: hard rules that the edit would newly break; if there is one, nothing was written.

    `before` and `after` are what stays open in the coach's units; `gains` and `losses` are sentences that
    begin with the player's name.
    """

    breaches: tuple[Breach, ...]
    before: Figures
    after: Figures
    gains: tuple[str, ...]
    losses: tuple[str, ...]

    @property
    def is_refused(self) -> bool:
        return bool(self.breaches)


def judge(built: BuiltProblem, wanted: Programme) -> Verdict:
    """The programme as wanted against the one that stands, by the rules of the problem as it is now."""
    before, after = (Standing.of(built.problem, built.stations(each)) for each in (built.programme, wanted))
    gains, losses = gains_and_losses(before, after, built.words)
    return Verdict(
        breaches=tuple(new_breaches(before, after, built.words)),
        before=before.figures,
        after=after.figures,
        gains=gains,
        losses=losses,
    )


def gains_and_losses(before: Standing, after: Standing, words: Words) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Who gains and who loses, in sentences that begin with the player's name."""
    moved = deltas(before, after)
    gains = tuple(in_words(delta, words) for delta in moved if delta.is_better)
    return gains, tuple(in_words(delta, words) for delta in moved if not delta.is_better)


def new_breaches(before: Standing, after: Standing, words: Words) -> Iterable[Breach]:
    """What is broken afterwards and was not before, or is broken further.

    A programme may have come to break a rule without an edit, by an absence told on the phone; that must
    not stand in the way of mending it step by step.
    """
    old = {what_is_broken(breach) for breach in breaches(before.problem, before.stations)}
    raised = raised_contact(before, after)
    return (
        breach
        for breach in breaches(after.problem, after.stations, words)
        if what_is_broken(breach) not in old or (breach.rule in COLLECTED and (breach.player, breach.week) in raised)
    )


def what_is_broken(breach: Breach) -> tuple:
    """Equal for breaches of one rule at one place, whatever their figures."""
    return breach.rule, breach.session, breach.slot, breach.drill, breach.player, breach.week


def in_words(delta: Delta, words: Words) -> str:
    figures = {
        "player": words.player(delta.player),
        "skill": words.other(delta.skill or ""),
        "week": (delta.week or 0) + 1,
        "load": delta.load,
        "before": number(delta.before),
        "after": number(delta.after),
    }
    return TELL[delta.part](delta) % figures


def _short(delta: Delta) -> str:
    if not delta.after:
        return _("%(player)s: %(skill)s reaches its minutes (was %(before)s short)")
    return _("%(player)s: %(skill)s %(after)s min short (was %(before)s)")


def _touch(delta: Delta) -> str:
    return ngettext(
        "%(player)s: %(after)s week without %(skill)s (was %(before)s)",
        "%(player)s: %(after)s weeks without %(skill)s (was %(before)s)",
        int(delta.after),
    )


def _load(delta: Delta) -> str:
    if not delta.after:
        return _("%(player)s: load of week %(week)d inside the band, %(load)d AU")
    return _("%(player)s: load of week %(week)d %(after)s AU outside the band (was %(before)s)")


def _idle(delta: Delta) -> str:
    return _("%(player)s: %(after)s min without a station (was %(before)s)")


TELL = {Part.SHORT: _short, Part.TOUCH: _touch, Part.LOAD: _load, Part.IDLE: _idle}
