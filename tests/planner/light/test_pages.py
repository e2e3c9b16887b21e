"""What pages and the sheet say of daylight: sunset where the venue's position is known, and what runs on after it."""

from __future__ import annotations

import datetime as dt
from io import BytesIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from planner.calendar_actions import save_night
from planner.laying_out import Layout
from planner.light import dark_nights, light_of
from planner.models import TrainingNight
from planner.season_figures import KEPT
from planner.sheets import sheet_of, sheet_pdf
from planner.slot_plans import SlotPlan
from planner.venue_actions import save_venue
from planner.venue_models import Where
from tests import factories as f
from tests.planner.breaks.cast import text_of
from tests.planner.venues.cast import venue_of

DAY = dt.date(2026, 10, 6)
FLAG = "All of it is after sunset, and no floodlights are known."
TOLD = "Sunset 18:30, civil dusk 19:05"  # tests/published/test_solar_calculator.py holds such times to a source


@pytest.fixture
def venue(club):
    return venue_of(club)


@pytest.fixture
def session(squad, venue):
    return f.SessionFactory(squad=squad, venue=venue, starts_at=dt.datetime(2026, 10, 6, 19, tzinfo=f.LONDON))


@pytest.fixture
def client(log_in, head):
    return log_in(head)


@pytest.fixture
def that_evening(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 6, 12, tzinfo=f.LONDON))


def pages(session) -> list[str]:
    club, squad = session.squad.club.slug, session.squad.slug
    return [
        reverse("session", args=[club, session.pk]),
        reverse("week", args=[club, squad, "2026-10-05"]),
        reverse("calendar_week", args=[club, squad, "2026-10-05"]),
        reverse("tonight", args=[club, session.pk]),
    ]


def minutes_of(session) -> list[int]:
    return [slot.minutes for slot in session.slots.all()]


@pytest.mark.usefixtures("that_evening")
def test_a_session_that_runs_on_after_sunset_is_flagged_with_sunset_and_dusk(session, client):
    for address in pages(session):
        text = text_of(client.get(address))
        assert FLAG in text, address
        assert TOLD.casefold() in text.casefold(), address


@pytest.mark.usefixtures("that_evening")
@pytest.mark.parametrize("light", ["lights_until", "floodlit"])
def test_with_floodlights_sunset_is_told_and_nothing_is_flagged(session, venue, client, light):
    if light == "floodlit":
        venue.floodlit = True
        venue.save()
    else:
        session.lights_until = dt.time(21)
        session.save()
    for address in pages(session):
        text = text_of(client.get(address))
        assert "no floodlights are known" not in text, address
        assert TOLD.casefold() in text.casefold(), address


@pytest.mark.usefixtures("that_evening")
def test_without_a_position_nothing_is_guessed(session, venue, client):
    venue.latitude = venue.longitude = None
    venue.save()
    for address in pages(session):
        text = text_of(client.get(address))
        assert "unset" not in text, address
        assert "no floodlights are known" not in text, address
    assert "not known: no position of the venue is given" in text_of(client.get(pages(session)[0]))


def test_the_slot_is_named_in_which_the_sun_sets(session):
    session.starts_at = dt.datetime(2026, 10, 6, 18, tzinfo=f.LONDON)
    light = light_of(session, [10, 12, 14])
    assert "No daylight from 18:30 on" in light.warning
    assert "slot 3 and what follows, until 18:36" in light.warning
    assert light_of(session, [10, 12]).warning == ""


def test_in_polar_day_and_night_there_are_words_and_no_error(session, venue, client):
    venue.latitude, venue.longitude, venue.zone = 78.2, 15.6, "Europe/Oslo"
    venue.save()
    session.starts_at = dt.datetime(2026, 12, 21, 18, tzinfo=venue.tzinfo)
    session.save()
    text = text_of(client.get(pages(session)[0]))
    assert "The sun does not rise on this day, and no floodlights are known: all of it is in the dark." in text
    session.starts_at = dt.datetime(2026, 6, 21, 18, tzinfo=venue.tzinfo)
    session.save()
    text = text_of(client.get(pages(session)[0]))
    assert "the sun does not set on this day" in text
    assert "no floodlights" not in text


def test_sunset_is_that_at_the_venue_by_its_clock(session, venue):
    venue.latitude, venue.longitude, venue.zone = -36.8, 174.7, "Pacific/Auckland"
    venue.save()
    session.venue = venue
    session.starts_at = dt.datetime(2026, 10, 6, 18, tzinfo=venue.tzinfo)
    light = light_of(session, minutes_of(session))
    assert light.evening.sunset.date() == DAY
    assert light.told.startswith("sunset 19:28")
    assert light.warning == ""


@pytest.mark.usefixtures("that_evening")
def test_light_costs_no_query(session, venue, client):
    counts = []
    for latitude in (52.9, None):
        venue.latitude, venue.longitude = latitude, latitude and -1.3
        venue.save()
        KEPT.forget()
        with CaptureQueriesContext(connection) as asked:
            for address in pages(session):
                client.get(address)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_what_is_past_is_told_without_advice(session, client, monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 7, 12, tzinfo=f.LONDON))
    for address in pages(session)[:2]:
        text = text_of(client.get(address))
        assert "Begin earlier" not in text, address
        assert TOLD.casefold() in text.casefold(), address


@pytest.mark.usefixtures("that_evening")
def test_a_page_that_was_kept_follows_what_becomes_known_of_the_venue(session, venue, head, client):
    address = pages(session)[1]
    assert FLAG in text_of(client.get(address))
    save_venue(venue=venue, by=head, floodlit=True)
    assert FLAG not in text_of(client.get(address))
    save_venue(venue=venue, by=head, floodlit=False)
    assert FLAG in text_of(client.get(address))


# The sheet


def test_the_sheet_says_when_the_sun_sets_and_what_runs_after_it(session):
    sheet = sheet_of(session, DAY)
    assert (sheet.light.told, sheet.light.warning) == (TOLD.replace("Sunset", "sunset"), FLAG)
    words = " ".join(PdfReader(BytesIO(sheet_pdf(session, DAY))).pages[0].extract_text().split())
    assert "sunset 18:30, civil dusk 19:05" in words
    assert FLAG in words


def test_a_sheet_without_a_position_says_nothing_of_the_sun(squad):
    assert sheet_of(f.SessionFactory(squad=squad), DAY).light is None


# Before a season is laid out


@pytest.fixture
def season(squad):
    return f.SeasonFactory(squad=squad, first_day=dt.date(2026, 9, 1), last_day=dt.date(2026, 10, 31))


def night_at(season, head, venue, **fields):
    fields = {"weekday": 1, "starts": dt.time(18), "where": Where(venue)} | fields
    return save_night(night=TrainingNight(season=season), slots=[SlotPlan(45), SlotPlan(30)], by=head, **fields)


def dark_days(season) -> list[str]:
    found = dark_nights(Layout.of(season, dt.date(2026, 9, 1)))
    return [f"{light.starts:%-d %b}" for night in found for light in night.dark]


def test_before_it_is_laid_out_the_season_says_which_nights_run_into_the_dark_and_from_when(
    season, venue, head, client, monkeypatch
):
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 8, 30, 12, tzinfo=f.LONDON))
    night_at(season, head, venue)
    assert dark_days(season) == ["22 Sep", "29 Sep", "6 Oct", "13 Oct", "20 Oct", "27 Oct"]
    text = text_of(client.get(reverse("lay_out", args=[season.squad.club.slug, season.pk])))
    assert "Tuesday 18:00: 6 of 9 new sessions run on after sunset, and no floodlights are known." in text
    assert "The first is Tue 22 Sep, 18:00 (sunset 19:0" in text


def test_a_night_with_floodlights_or_without_a_position_is_not_told_as_dark(season, venue, head, client):
    night_at(season, head, venue, lights_until=dt.time(21))
    night_at(season, head, venue_of(season.squad.club, name="Hill Road", latitude=None, longitude=None), weekday=3)
    assert dark_days(season) == []
    text = text_of(client.get(reverse("lay_out", args=[season.squad.club.slug, season.pk])))
    assert "No position of Hill Road is given, so nothing is said of sunset there." in text
