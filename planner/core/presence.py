"""Which tap of a night counts, and from when until when a player is there.

Each tap names the taps that whoever tapped had before him (`seen`): it answers them. Of the taps that no other
answers the newest by the clock of its device counts; of two at the same moment the one with the greater key. If
another unanswered tap says something else, two people contradict each other: the newest still counts, and the
other is told until somebody taps again with both before him. The state follows from the set of taps alone: in
which order they arrive, and how often, changes nothing. Common practice for rows that come late; no standard.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass, field

HERE, LATE, GONE, AWAY, OPEN = "here", "late", "gone", "away", "open"


@dataclass(frozen=True, slots=True)
class Tap:
    """`seen` are keys of other taps; those that are not among the taps at hand answer nothing."""

    key: str
    state: str
    at: dt.datetime
    seen: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class State:
    """`tap` counts, `rivals` contradict it, newest first; `heads` are all that a next tap answers."""

    tap: Tap
    rivals: tuple[Tap, ...] = ()
    heads: tuple[Tap, ...] = field(default=())


def state_of(taps: Collection[Tap]) -> State | None:
    """None without a tap. Taps that answer each other in a ring all count as unanswered."""
    by_key = {tap.key: tap for tap in taps}
    answered = {key for tap in by_key.values() for key in tap.seen if key != tap.key}
    heads = [tap for tap in by_key.values() if tap.key not in answered] or list(by_key.values())
    if not heads:
        return None
    newest, *others = sorted(heads, key=by_clock, reverse=True)
    return State(newest, tuple(tap for tap in others if tap.state != newest.state), (newest, *others))


def by_clock(tap: Tap) -> tuple[dt.datetime, str]:
    return tap.at, tap.key


Span = tuple[dt.datetime, dt.datetime]


def span_of(taps: Collection[Tap], session: Span, announced: Span | None = None) -> Span | None:
    """From when until when the player is there by the taps; None if they say that he is not, or nothing.

    `announced` are the times of his reply within those of the session. "Here" is from the announced time on, or from
    the first minute if it was tapped before that; "late" from the moment of the tap on; "gone" until it.
    """
    state, (starts, ends) = state_of(taps), announced or session
    if state is None or state.tap.state in (AWAY, OPEN):
        return None
    arrival = arrival_of(state.tap, {tap.key: tap for tap in taps})
    if arrival.state == LATE:
        starts = max(arrival.at, session[0])
    elif arrival.at < starts:
        starts = session[0]
    if state.tap.state == GONE:
        ends = max(starts, state.tap.at)  # gone before it began: there for no minute of it
    return starts, ends


def arrival_of(tap: Tap, by_key: dict[str, Tap]) -> Tap:
    """The tap that says when he came: back from "gone" along what each tap answered, the newest first."""
    known = dict(by_key)
    while tap.state == GONE:
        before = sorted((known.pop(key) for key in tap.seen if key in known), key=by_clock)
        if not before:
            break
        tap = before[-1]
    return tap
