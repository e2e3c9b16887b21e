"""Which tap counts: the state follows from the set of taps, in whatever order and however often they arrive."""

from __future__ import annotations

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from planner.core.presence import AWAY, GONE, HERE, LATE, OPEN, Tap, span_of, state_of

START = dt.datetime(2026, 10, 6, 19, 0, tzinfo=dt.UTC)
END = START + dt.timedelta(minutes=75)


def at(minute: int) -> dt.datetime:
    return START + dt.timedelta(minutes=minute)


@st.composite
def nights(draw) -> list[Tap]:
    """Taps of two or three devices: each knows its own taps, and now and then hears of all that were made so far."""
    taps: list[Tap] = []
    known: dict[int, tuple[str, ...]] = {}
    for number in range(draw(st.integers(0, 12))):
        device = draw(st.integers(0, 2))
        if taps and draw(st.booleans()):
            known[device] = tuple(head.key for head in state_of(taps).heads)
        state = draw(st.sampled_from([HERE, LATE, GONE, AWAY, OPEN]))
        tap = Tap(f"k{number}", state, at(draw(st.integers(-20, 80))), known.get(device, ()))
        taps.append(tap)
        known[device] = (tap.key,)
    return taps


@given(nights(), st.randoms(use_true_random=False))
def test_any_order_and_repetition_of_arrival_gives_the_same_state(taps, chance):
    arrived = [*taps, *chance.sample(taps, len(taps) // 2)]
    chance.shuffle(arrived)
    assert state_of(arrived) == state_of(taps)
    assert span_of(arrived, (START, END)) == span_of(taps, (START, END))


@given(st.lists(st.tuples(st.sampled_from([HERE, AWAY, LATE]), st.integers(-60, 90)), min_size=1))
def test_on_one_device_the_last_tap_counts_whatever_its_clock_says(steps):
    taps: list[Tap] = []
    for number, (state, minute) in enumerate(steps):
        taps.append(Tap(f"k{number}", state, at(minute), (taps[-1].key,) if taps else ()))
    assert state_of(taps).tap == taps[-1]
    assert state_of(taps).rivals == ()


@given(nights())
def test_a_tap_that_answers_all_before_it_settles_every_contradiction(taps):
    heads = tuple(head.key for head in state_of(taps).heads) if taps else ()
    last = Tap("last", HERE, at(-100), heads)
    found = state_of([*taps, last])
    assert (found.tap, found.rivals) == (last, ())


def test_of_two_who_did_not_know_of_each_other_the_newer_counts_and_the_other_is_told():
    here, away = Tap("a", HERE, at(3)), Tap("b", AWAY, at(2))
    found = state_of([away, here])
    assert (found.tap, found.rivals) == (here, (away,))


def test_two_who_say_the_same_do_not_contradict_each_other():
    assert state_of([Tap("a", HERE, at(3)), Tap("b", HERE, at(2))]).rivals == ()


def test_taps_that_answer_each_other_in_a_ring_still_give_a_state():
    ring = [Tap("a", HERE, at(1), ("b",)), Tap("b", AWAY, at(2), ("a",))]
    assert state_of(ring).tap.key == "b"


def test_here_is_from_the_first_minute_on_even_if_the_tap_came_later():
    assert span_of([Tap("a", HERE, at(20))], (START, END)) == (START, END)


def test_here_after_he_had_said_when_he_comes_is_from_that_time_on():
    told = at(35), END
    assert span_of([Tap("a", HERE, at(40))], (START, END), told) == told
    assert span_of([Tap("a", HERE, at(10))], (START, END), told) == (START, END)


def test_late_is_from_the_tap_on_and_gone_until_it():
    late = Tap("a", LATE, at(12))
    gone = Tap("b", GONE, at(50), ("a",))
    assert span_of([late], (START, END)) == (at(12), END)
    assert span_of([late, gone], (START, END)) == (at(12), at(50))
    assert span_of([gone], (START, END)) == (START, at(50))


def test_who_was_gone_before_it_began_was_there_for_no_minute():
    assert span_of([Tap("a", GONE, at(-5))], (START, END)) == (START, START)


def test_who_is_not_here_or_no_longer_marked_was_there_at_no_time():
    assert span_of([Tap("a", AWAY, at(1))], (START, END)) is None
    assert span_of([Tap("a", HERE, at(1)), Tap("b", OPEN, at(2), ("a",))], (START, END)) is None
