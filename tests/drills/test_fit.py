"""How large a card is set: a first guess, and better ones from what was measured."""

from hypothesis import given
from hypothesis import strategies as st

from drills.core.fit import LARGEST, SMALLEST, TEXT_ENDS, first_guess, key_size, leaves_room, next_try

SIZES = st.integers(int(SMALLEST * 10), int(LARGEST * 10)).map(lambda tenths: tenths / 10)
ENDS = st.floats(30, 2000)
TEXTS = st.lists(st.text(max_size=400), max_size=20)


def test_text_at_arms_length_is_always_the_larger_and_shrinks_last():
    assert (key_size(10), key_size(7), key_size(3.5)) == (12.6, 10, 5)


def test_a_short_card_is_set_largest_and_an_endless_one_smallest():
    assert first_guess(["Short."], ["Up."]) == LARGEST
    assert first_guess(["long " * 5000], []) == SMALLEST


@given(TEXTS, TEXTS)
def test_more_text_is_never_guessed_larger(plain, key):
    guess = first_guess(plain, key)
    assert SMALLEST <= guess <= LARGEST
    assert first_guess([*plain, "One more note."], key) <= guess
    assert first_guess(plain, [*key, "One more note."]) <= guess


@given(SIZES, ENDS)
def test_the_next_try_goes_the_way_that_was_measured(size, end):
    tried = next_try(size, end)
    assert SMALLEST <= tried <= LARGEST
    if end > TEXT_ENDS:
        assert tried < size or size == SMALLEST
    else:
        assert tried >= size - 1e-9


def test_room_is_filled_only_where_it_is_worth_another_try():
    assert leaves_room(8, 150)
    assert not leaves_room(8, 190)
    assert not leaves_room(LARGEST, 100)
