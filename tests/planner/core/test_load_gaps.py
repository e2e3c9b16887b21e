"""What keeps a day from having a load: said part by part, and never filled in."""

from hypothesis import given
from hypothesis import strategies as st

from planner.core.load import Missing
from planner.core.load_gaps import Gap, Lack, lacks_of, load_with
from planner.core.rpe import Did

someone = st.builds(Did, rpe=st.none() | st.integers(0, 10), minutes=st.none() | st.integers(1, 600))
names = st.sampled_from(["s1", "s2", "f1", "declared3"])


def test_each_part_says_what_it_lacks():
    did = {"s1": Did(5, 60), "s2": Did(None, 60), "f3": Did(7, None)}
    assert lacks_of(did, ["s4"]) == (
        Lack("f3", Gap.NO_MINUTES),
        Lack("s2", Gap.NO_NUMBER),
        Lack("s4", Gap.NOT_TOLD),
    )


def test_a_number_with_minutes_of_its_own_counts_although_the_record_is_open():
    assert lacks_of({"s1": Did(5, 60)}, ["s1"]) == ()
    assert lacks_of({"s1": Did(5, None)}, ["s1"]) == (Lack("s1", Gap.NO_MINUTES),)


def test_a_day_without_anything_is_rest():
    assert load_with({}, lacks_of({})) == 0


@given(st.dictionaries(names, someone), st.sets(names))
def test_a_day_has_a_load_exactly_when_it_lacks_nothing_and_then_it_is_the_sum(did, open_on):
    lacks = lacks_of(did, open_on)
    load = load_with(did, lacks)
    assert (load is Missing.NOT_KNOWN) == bool(lacks)
    if not lacks:
        assert load == sum(each.rpe * each.minutes for each in did.values())
    assert {lack.occasion for lack in lacks} >= set(open_on) - set(did)
