"""SEQUENCE and LAST-MODIFIED move when what this audience sees has changed, and at nothing else."""

from __future__ import annotations

import datetime as dt
from threading import Barrier, Thread

import pytest
from django.db import IntegrityError, connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.feed_models import Audience, Feed, Told
from planner.feeds import for_coaches, for_player, note_changes, told_of
from planner.models import Fixture, Place, Session, Slot, Station
from squads.models import Squad
from tests import factories as f
from tests.planner.feeds.cast import planned_night

NOW = dt.datetime(2026, 10, 5, 12, 0, 0, 500, tzinfo=dt.UTC)
FIRST = dt.date(2026, 9, 7)
BOTH, COACHES, NOBODY = {"coaches", "players"}, {"coaches"}, set()


def set_session(**values):
    return lambda: Session.objects.update(**values)


def add_warm_down():
    Slot.objects.create(session=Session.objects.get(), order=9, minutes=5, title="Walk")


# What somebody does to the night or the match, and who is told of it.
CHANGES = {
    "another pitch": (set_session(pitch="Far pitch"), BOTH),
    "another time": (set_session(starts_at=dt.datetime(2026, 10, 6, 20, tzinfo=f.LONDON)), BOTH),
    "called off": (set_session(cancelled=True), BOTH),
    "a slot more": (add_warm_down, BOTH),
    "other aims": (set_session(aims=["Talk early"]), COACHES),
    "another coach": (lambda: Station.objects.filter(order=0).update(coach="M. Alder"), COACHES),
    "a drill's new name": (lambda: [rename(station.drill) for station in Station.objects.all()], COACHES),
    "a station off": (lambda: Station.objects.filter(order=1).delete(), COACHES),
    "fixed content": (lambda: Slot.objects.filter(order=0).update(title="Wet warm-up"), COACHES),
    "minutes moved between slots": (lambda: [lengthen(0, 1), lengthen(1, -1)], COACHES),
    "the squad's new name": (lambda: Squad.objects.update(name="Blues"), COACHES),
    "notes": (set_session(notes="Physio came"), NOBODY),
    "a first aider": (set_session(first_aider="R. Quill"), NOBODY),
    "kit at hand": (set_session(kit={"balls": 3}), NOBODY),
    "a version of the plan": (set_session(plan_version=77), NOBODY),
    "a player taken from his station": (lambda: Place.objects.all().delete(), NOBODY),
    "a locked station": (lambda: Station.objects.update(locked=True), NOBODY),
    "lights": (set_session(lights_until=dt.time(21)), NOBODY),
}
MATCH_CHANGES = {
    "another opponent": (lambda: Fixture.objects.update(opponent="Sallow Fen RFC"), BOTH),
    "away": (lambda: Fixture.objects.update(home=False), BOTH),
    "postponed": (lambda: Fixture.objects.update(state="postponed"), BOTH),
    "time unknown": (lambda: Fixture.objects.update(all_day=True), BOTH),
    "elsewhere": (lambda: Fixture.objects.update(venue_words="Fen Lane"), BOTH),
    "another uid in the league's file": (lambda: Fixture.objects.update(uid="league-7"), NOBODY),
}


def rename(drill):
    drill.name += " again"
    drill.save()


def lengthen(order, minutes):
    slot = Slot.objects.get(order=order)
    Slot.objects.filter(pk=slot.pk).update(minutes=slot.minutes + minutes)


@pytest.fixture
def player(squad):
    planned_night(squad)
    f.FixtureFactory(squad=squad)
    return squad.players.get()


def read(player, now) -> dict[tuple, Told]:
    """Both audiences read what there is."""
    player.refresh_from_db()
    readings = (for_coaches(player.squad.club, FIRST), for_player(Feed(player=player), FIRST))
    return {
        (reading.audience.value, key[0]): told
        for reading in readings
        for key, told in told_of(reading.audience, reading.digests, now).items()
    }


def moved(before: dict[tuple, Told], after: dict[tuple, Told], kind: str) -> set[str]:
    """The audiences whose event of this kind counts a change; time and number move together or not at all."""
    found = set()
    for audience in BOTH:
        old, new = before[audience, kind], after[audience, kind]
        assert (new.sequence - old.sequence, new.changed_at > old.changed_at) in {(0, False), (1, True)}
        assert new.uid == old.uid
        found |= {audience} if new.sequence > old.sequence else set()
    return found


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_of_the_night_moves_it_for_those_who_see_it_and_the_match_for_nobody(player, name):
    change, told = CHANGES[name]
    before = read(player, NOW)
    change()
    after = read(player, NOW)
    assert moved(before, after, "session") == told
    assert moved(before, after, "fixture") - ({"coaches"} if "squad" in name else set()) == set()


@pytest.mark.parametrize("name", MATCH_CHANGES)
def test_a_change_of_the_match_moves_it_for_those_who_see_it_and_the_night_for_nobody(player, name):
    change, told = MATCH_CHANGES[name]
    before = read(player, NOW)
    change()
    after = read(player, NOW)
    assert (moved(before, after, "fixture"), moved(before, after, "session")) == (told, set())


VALUES = {
    "pitch": st.sampled_from(["Pitch 1", "Pitch 2"]),
    "cancelled": st.booleans(),
    "aims": st.sampled_from([[], ["Stay square"], ["Talk"]]),
    "notes": st.sampled_from(["", "wet"]),
    "plan_version": st.integers(0, 3),
    "first_aider": st.sampled_from(["", "R. Quill"]),
}
SEEN = {"players": ("pitch", "cancelled"), "coaches": ("pitch", "cancelled", "aims")}


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(st.fixed_dictionaries({}, optional=VALUES), min_size=1, max_size=5))
def test_whatever_is_changed_the_count_moves_exactly_with_what_is_seen(player, steps):
    with transaction.atomic():
        before, now = read(player, NOW), NOW
        for values in steps:
            old = Session.objects.values().get()
            if values:
                Session.objects.update(**values)
            new = Session.objects.values().get()
            now += dt.timedelta(seconds=1)
            after = read(player, now)
            seen = {who for who, names in SEEN.items() if any(old[name] != new[name] for name in names)}
            assert moved(before, after, "session") == seen
            before = after
        transaction.set_rollback(True)


def test_what_changed_and_changed_back_between_two_readings_was_no_change(player):
    before = read(player, NOW)
    Session.objects.update(pitch="Far pitch")
    Session.objects.update(pitch="Pitch 2")
    assert moved(before, read(player, NOW), "session") == set()


def test_two_changes_in_one_second_have_two_times(player):
    told = [read(player, NOW)["players", "session"]]
    for pitch in ("A", "B"):
        Session.objects.update(pitch=pitch)
        told.append(read(player, NOW)["players", "session"])
    assert [one.sequence for one in told] == [0, 1, 2]
    assert [one.changed_at.second for one in told] == [0, 1, 2]
    assert {one.changed_at.microsecond for one in told} == {0}


@pytest.mark.django_db(transaction=True)
def test_two_readers_at_once_note_a_change_once(player):
    reading = for_coaches(player.squad.club, FIRST)
    told_of(Audience.COACHES, reading.digests, NOW)
    Session.objects.update(pitch="Far pitch")
    digests, gate = for_coaches(player.squad.club, FIRST).digests, Barrier(2)

    def note():
        gate.wait()
        note_changes(Audience.COACHES, digests, NOW)
        connection.close()

    threads = [Thread(target=note) for _reader in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(Told.objects.values_list("sequence", flat=True)) == [0, 1]


# What the database holds to


def told(**values):
    usual = {"audience": "players", "digest": "a" * 64, "changed_at": NOW, "session": Session.objects.get()}
    return Told.objects.create(**usual | values)


@pytest.mark.parametrize(
    "wrong",
    [
        {"audience": "parents"},
        {"session": None},
        {"digest": "a" * 63},
        {"sequence": -1},
        {"fixture": "both"},
    ],
)
def test_the_database_refuses_what_was_told_of_nothing_or_to_nobody(player, wrong):
    told(audience="coaches")
    told()
    Told.objects.all().delete()
    if wrong.get("fixture"):
        wrong = {"fixture": Fixture.objects.get()}
    with pytest.raises(IntegrityError), transaction.atomic():
        told(**wrong)


def test_an_audience_is_told_once_of_a_session_and_once_of_a_match(player):
    told()
    match = {"session": None, "fixture": Fixture.objects.get()}
    told(**match)
    for again in ({}, match):
        with pytest.raises(IntegrityError), transaction.atomic():
            told(**again)


def feed(**values):
    return Feed.objects.create(**{"digest": "a" * 64, "made_at": NOW} | values)


def test_a_feed_is_of_a_member_or_of_a_player_and_of_each_there_is_one(player):
    member = f.MembershipFactory(club=player.squad.club)
    feed(player=player)
    feed(membership=member, digest="b" * 64)
    other = f.PlayerFactory(squad=player.squad)
    for wrong in (
        {},
        {"player": other, "membership": f.MembershipFactory()},
        {"player": player},
        {"membership": member},
        {"player": other, "digest": "a" * 64},
        {"player": other, "digest": "c" * 63},
        {"player": other, "stamp": "d" * 64},
        {"player": other, "changed_at": NOW},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            feed(**{"digest": "c" * 64} | wrong)
    feed(player=other, digest="c" * 64, stamp="d" * 64, changed_at=NOW)
