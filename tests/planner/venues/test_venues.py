"""The club's venues: what the database keeps right, the verbs, the pages, and words that become venues."""

from __future__ import annotations

import datetime as dt
import importlib

import pytest
from django.apps import apps
from django.urls import reverse

from planner.changes import Refused
from planner.models import Fixture, FixtureState, Session, TrainingNight
from planner.session_actions import cancel_session
from planner.venue_actions import bring_venue_back, retire_venue, save_venue
from planner.venue_models import NOWHERE, Venue, Where
from shared.models import AuditEvent, Club
from tests import factories as f
from tests.planner.calendar.test_constraints import refused
from tests.planner.venues.cast import GROUND, venue_of

TODAY = dt.date(2026, 10, 1)


def night_of(squad, **fields):
    return TrainingNight.objects.create(
        season=f.SeasonFactory(squad=squad, name=f"{len(Venue.objects.all())}"), weekday=1, starts=dt.time(19), **fields
    )


# What the database keeps right


def test_a_name_is_a_clubs_once_whatever_its_letters(club):
    venue_of(club, name="Mill Lane")
    assert refused(lambda: venue_of(club, name="MILL lane"))
    assert not refused(lambda: venue_of(f.ClubFactory(), name="Mill Lane"))


@pytest.mark.parametrize(
    ("latitude", "longitude", "is_on_the_globe"),
    [
        (90, 180, True), (-90, -180, True), (0, 0, True), (None, None, True),
        (90.1, 0, False), (-90.1, 0, False), (0, 180.1, False), (0, -180.1, False),
        (51, None, False), (None, 1, False),
    ],
)  # fmt: skip
def test_a_position_lies_on_the_globe_and_is_whole(club, latitude, longitude, is_on_the_globe):
    assert refused(lambda: venue_of(club, latitude=latitude, longitude=longitude)) is not is_on_the_globe


def test_a_night_or_session_is_at_a_venue_or_somewhere_in_words(squad):
    venue = venue_of(squad.club)
    assert refused(lambda: f.SessionFactory(squad=squad, venue=venue, venue_words="Hall"))
    assert refused(lambda: night_of(squad, venue=venue, venue_words="Hall"))
    assert not refused(lambda: f.SessionFactory(squad=squad, venue=venue))
    assert not refused(lambda: night_of(squad, venue_words="Hall"))
    assert not refused(lambda: f.FixtureFactory(squad=squad, venue=venue, venue_words="as the list has it"))


def test_a_club_goes_with_its_venues_and_a_venue_in_use_does_not_go_alone(squad):
    venue = venue_of(squad.club)
    f.SessionFactory(squad=squad, venue=venue)
    assert refused(venue.delete)
    squad.club.delete()
    assert (Venue.objects.count(), Session.objects.count()) == (0, 0)


def test_where_is_the_venue_else_the_words_and_nowhere_is_false(club):
    venue = venue_of(club)
    assert [str(where) for where in (Where(venue), Where(words="Hall"), Where(venue, "old words"), NOWHERE)] == [
        "The Withy Ground", "Hall", "The Withy Ground", "",
    ]  # fmt: skip
    assert [bool(where) for where in (Where(venue), Where(words="Hall"), NOWHERE)] == [True, True, False]


# Words become venues


@pytest.fixture
def spoken_of(squad):
    """As the rows were before there were venues."""
    night_of(squad, venue_words="Mill Lane")
    f.SessionFactory(squad=squad, venue_words="mill  lane", lights_until=dt.time(21))
    f.SessionFactory(squad=squad, venue_words="School hall", starts_at=dt.datetime(2026, 10, 8, 19, tzinfo=f.LONDON))
    f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 9, 19, tzinfo=f.LONDON))
    f.FixtureFactory(squad=squad, uid="home", venue_words="Mill Lane")
    f.FixtureFactory(squad=squad, uid="away", venue_words="Mill Lane", home=False)
    f.FixtureFactory(squad=squad, uid="other", venue_words="Fen Lane")
    f.SessionFactory(venue_words="Mill Lane", squad=f.SquadFactory(club__zone="Europe/Paris"))


def test_words_become_venues_of_the_club_and_are_linked(squad, spoken_of):
    migration = importlib.import_module("planner.migrations.0018_words_become_venues")
    for _twice in range(2):
        migration.make_venues(apps, None)
        assert list(Venue.objects.of(squad.club).values_list("name", "zone", "floodlit")) == [
            ("Mill Lane", "Europe/London", True),
            ("School hall", "Europe/London", False),
        ]
    assert list(Venue.objects.exclude(club=squad.club).values_list("name", "zone")) == [("Mill Lane", "Europe/Paris")]
    assert [(str(s.where), s.venue_words) for s in squad.sessions.all()] == [
        ("Mill Lane", ""), ("School hall", ""), ("", ""),
    ]  # fmt: skip
    assert TrainingNight.objects.get().where == Where(Venue.objects.get(club=squad.club, name="Mill Lane"))
    assert {m.uid: (m.venue and m.venue.name, m.venue_words) for m in squad.fixtures.all()} == {
        "home": ("Mill Lane", "Mill Lane"), "away": (None, "Mill Lane"), "other": (None, "Fen Lane"),
    }  # fmt: skip


def test_venues_become_words_again_on_the_way_back(squad, spoken_of):
    migration = importlib.import_module("planner.migrations.0018_words_become_venues")
    migration.make_venues(apps, None)
    migration.make_words(apps, None)
    assert [s.where for s in squad.sessions.all()] == [Where(words="Mill Lane"), Where(words="School hall"), NOWHERE]
    assert {str(fixture.where) for fixture in squad.fixtures.all()} == {"Mill Lane", "Fen Lane"}
    assert Fixture.objects.filter(venue=None).count() == 3


# The verbs


def test_a_venue_is_added_and_changed_and_both_are_written_down(club, head):
    venue = save_venue(venue=Venue(club=club), by=head, **GROUND)
    save_venue(venue=venue, by=head, floodlit=True)
    assert Venue.objects.get().floodlit
    assert list(AuditEvent.objects.filter(did__contains="venue").values_list("did", flat=True)) == [
        "added venue", "changed venue",
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["mill lane", "MILL LANE"])
def test_a_name_that_is_known_is_refused_in_words(club, head, name):
    venue_of(club, name="Mill Lane")
    with pytest.raises(Refused, match="has a venue of that name already"):
        save_venue(venue=Venue(club=club), by=head, **GROUND | {"name": name})


def test_letters_beyond_a_to_z_count_as_the_same_too(club, head):
    venue_of(club, name="Åker plan")
    with pytest.raises(Refused):
        save_venue(venue=Venue(club=club), by=head, **GROUND | {"name": "åker plan"})


def test_the_zone_of_a_venue_stays_while_something_stands_there(squad, head):
    venue = venue_of(squad.club)
    save_venue(venue=venue, by=head, zone="Europe/Dublin")
    session = f.SessionFactory(squad=squad, venue=venue)
    with pytest.raises(Refused, match="by the clock of Europe/Dublin"):
        save_venue(venue=Venue.objects.get(), by=head, zone="Europe/Paris")
    assert Venue.objects.get().zone == "Europe/Dublin"
    session.delete()
    assert save_venue(venue=Venue.objects.get(), by=head, zone="Europe/Paris").zone == "Europe/Paris"


def test_a_venue_retires_when_nothing_ahead_needs_it_and_comes_back(squad, head):
    venue = venue_of(squad.club)
    night = night_of(squad, venue=venue)
    session = f.SessionFactory(squad=squad, venue=venue)
    match = f.FixtureFactory(squad=squad, venue=venue)
    with pytest.raises(Refused) as refusal:
        retire_venue(venue=venue, by=head, today=TODAY)
    assert refusal.value.reasons == (
        "1 night of a season is at The Withy Ground: change it, or end it, first.",
        "1 session ahead is at The Withy Ground: change its venue first.",
        "1 match ahead is at The Withy Ground: change its venue first.",
    )
    TrainingNight.objects.filter(pk=night.pk).update(last_day=TODAY - dt.timedelta(days=1))
    cancel_session(session=session, by=head, today=TODAY)
    Fixture.objects.filter(pk=match.pk).update(state=FixtureState.CANCELLED)
    retire_venue(venue=venue, by=head, today=TODAY)
    assert list(Venue.objects.on_offer()) == []
    bring_venue_back(venue=venue, by=head)
    assert list(Venue.objects.on_offer()) == [venue]


def test_what_is_past_keeps_no_venue_on_offer(squad, head):
    venue = venue_of(squad.club)
    f.SessionFactory(squad=squad, venue=venue)
    retire_venue(venue=venue, by=head, today=dt.date(2026, 10, 7))
    assert str(Session.objects.get().where) == "The Withy Ground"


# The pages

SENT = {
    "name": " Fen  Field ",
    "directions": "Behind the mill",
    "zone": "Europe/Paris",
    "latitude": "43.6",
    "longitude": "1.4",
}


def at(name, venue=None):
    return reverse(name, args=[Club.objects.first().slug, *([venue.pk] if venue else [])])


def test_a_coach_adds_a_venue_changes_it_and_retires_it(club, head, log_in):
    client = log_in(head)
    page = client.get(at("new_venue"))
    assert page.context["form"].initial["zone"] == "Europe/London"
    assert client.post(at("new_venue"), SENT).status_code == 302
    venue = Venue.objects.get()
    assert (venue.name, venue.zone, venue.latitude, venue.longitude, venue.floodlit) == (
        "Fen Field", "Europe/Paris", 43.6, 1.4, False,
    )  # fmt: skip
    assert "43.6, 1.4" in client.get(at("venues")).content.decode()
    client.post(at("edit_venue", venue), SENT | {"floodlit": "on"})
    assert Venue.objects.get().floodlit
    client.post(at("retire_venue", venue))
    assert Venue.objects.get().retired_on
    client.post(at("retire_venue", venue), {"back": "1"})
    assert Venue.objects.get().retired_on is None


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"name": "MILL LANE"}, "__all__", "has a venue of that name already"),
        ({"zone": "Atlantis/West"}, "zone", "is not a time zone"),
        ({"latitude": "91"}, "latitude", "less than or equal to 90"),
        ({"longitude": "-181"}, "longitude", "greater than or equal to -180"),
        ({"longitude": ""}, "longitude", "A position needs both degrees"),
        ({"latitude": ""}, "latitude", "A position needs both degrees"),
        ({"latitude": "nan"}, "latitude", "Enter a number"),
        ({"latitude": "51° 28'"}, "latitude", "Enter a number"),
    ],
)
def test_what_is_no_venue_comes_back_with_what_is_wrong(club, head, log_in, changes, field, words):
    venue_of(club, name="Mill Lane")
    page = log_in(head).post(at("new_venue"), SENT | changes)
    assert words in str(page.context["form"].errors[field])
    assert Venue.objects.count() == 1


def test_a_refused_retiring_says_why(squad, head, log_in):
    venue = venue_of(squad.club)
    f.SessionFactory(squad=squad, venue=venue, starts_at=dt.datetime(2050, 10, 6, 19, tzinfo=f.LONDON))
    page = log_in(head).post(at("retire_venue", venue), follow=True).content.decode()
    assert "1 session ahead is at The Withy Ground: change its venue first." in page
    assert Venue.objects.get().retired_on is None


def test_a_refused_zone_leaves_the_page_with_the_old_name_and_writes_nothing(squad, head, log_in):
    venue = venue_of(squad.club)
    f.SessionFactory(squad=squad, venue=venue)
    page = log_in(head).post(at("edit_venue", venue), SENT)
    assert page.context["name"] == "The Withy Ground"
    assert "Add another venue for another zone" in page.content.decode()
    assert (Venue.objects.get().name, Venue.objects.get().zone) == ("The Withy Ground", "Europe/London")


def test_the_venues_of_another_club_are_nobodys_business(club, head, log_in):
    theirs = venue_of(f.ClubFactory(), name="Elsewhere")
    client = log_in(head)
    assert "Elsewhere" not in client.get(at("venues")).content.decode()
    assert client.post(at("edit_venue", theirs), SENT).status_code == 404
    assert client.post(at("retire_venue", theirs)).status_code == 404


def test_the_list_takes_as_many_queries_for_three_venues_as_for_one(club, head, log_in, django_assert_num_queries):
    client = log_in(head)
    venue_of(club)
    client.get(at("venues"))
    for number in range(2):
        with django_assert_num_queries(5):
            client.get(at("venues"))
        venue_of(club, name=f"Field {number}")
