"""Public holidays that are offered, ticked, and only then days without training."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import translation

from planner.break_actions import change_breaks, choose_holidays
from planner.changes import Refused
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.falling_out import breaks_of
from planner.night_models import LayingOut
from planner.public_holidays import (
    countries,
    country_of_zone,
    holidays_in,
    place_of,
    regions,
)
from tests import factories as f
from tests.planner.breaks.cast import TODAY, address, hidden, off, text_of, tuesdays

AUTUMN = Stretch(dt.date(2026, 9, 1), dt.date(2027, 2, 28))

# What the library knows


def test_every_country_has_a_code_of_two_letters_and_a_name():
    known = dict(countries())
    assert all(len(code) == 2 and code.isupper() for code in known)
    assert (known["FR"], known["NZ"]) == ("France", "New Zealand")


def test_parts_of_a_country_have_names_where_the_library_has_any():
    assert dict(regions("GB"))["SCT"] == "Scotland"
    assert dict(regions("DE"))["BY"] == "Bayern"
    assert dict(regions("FR"))["971"] == "Guadeloupe"
    assert regions("ZA") == ()


@pytest.mark.parametrize(("zone", "country"), [("Europe/Paris", "FR"), ("Pacific/Auckland", "NZ"), ("UTC", "")])
def test_the_zone_of_a_club_tells_its_country_where_it_has_one(zone, country):
    assert country_of_zone(zone) == country


def test_holidays_of_a_part_are_among_those_of_its_country_only_if_they_are_kept_everywhere():
    scottish, whole = (set(holidays_in("GB", region, AUTUMN)) for region in ("SCT", ""))
    assert {gap.name for gap in scottish - whole} >= {"Saint Andrew's Day"}


@pytest.mark.parametrize(
    ("language", "name"), [("fr", "Jour de l'an"), ("en", "New Year's Day"), ("xx", "New Year's Day")]
)
def test_names_are_in_the_readers_language_where_the_library_has_them(language, name):
    with translation.override(language):
        found = {gap.days.first: gap.name for gap in holidays_in("FR", "", AUTUMN)}
    assert found[dt.date(2027, 1, 1)] == name


@pytest.mark.parametrize(("country", "region"), [("QQ", ""), ("", ""), ("gb", ""), ("GB", "BY"), ("ZA", "X" * 300)])
def test_a_code_that_names_no_place_is_refused_in_words(country, region):
    with pytest.raises(Refused, match="Choose one from the list"):
        holidays_in(country, region, AUTUMN)


@pytest.mark.parametrize("country", [code for code, _name in countries()][::9])
def test_every_ninth_country_gives_single_days_of_the_season_with_a_name_and_a_uid_each(country):
    found = holidays_in(country, "", AUTUMN)
    assert len({gap.uid for gap in found}) == len(found)
    for gap in found:
        assert gap.days.first == gap.days.last
        assert gap.days.first in AUTUMN
        assert 0 < len(gap.name) <= 60


# The club's choice


def test_a_season_takes_its_own_place_else_the_clubs_last_else_that_of_its_zone(squad, head):
    old = f.SeasonFactory(squad=squad, name="old", first_day=dt.date(2025, 9, 1), last_day=dt.date(2026, 5, 1))
    new = f.SeasonFactory(squad=squad)
    assert place_of(new) == ("GB", "")
    choose_holidays(season=old, country="GB", region="WLS", by=head)
    assert place_of(new) == ("GB", "WLS")
    choose_holidays(season=new, country="IE", region="", by=head)
    assert (place_of(new), place_of(old)) == (("IE", ""), ("GB", "WLS"))


def test_the_place_of_another_club_is_never_taken(squad, head, stranger):
    other = f.SeasonFactory(squad=f.SquadFactory(club=stranger.memberships.get().club))
    choose_holidays(season=other, country="ZA", region="", by=stranger)
    assert place_of(f.SeasonFactory(squad=squad)) == ("GB", "")


def test_a_place_that_is_none_is_refused_and_nothing_is_kept(squad, head):
    with pytest.raises(Refused):
        choose_holidays(season=f.SeasonFactory(squad=squad), country="QQ", region="", by=head)
    assert LayingOut.objects.count() == 0


# The page


@pytest.fixture
def winter(squad, head, september):
    """A season over the new year with a Friday night, so that Christmas 2026 and New Year 2027 are on one."""
    season = f.SeasonFactory(squad=squad, first_day=AUTUMN.first, last_day=AUTUMN.last)
    tuesdays(season, head, weekday=4)
    return season


@pytest.fixture
def client(log_in, head):
    return log_in(head)


def ticks(client, season, *days: str) -> dict[str, object]:
    page = client.get(address("holidays", season.pk))
    return hidden(page) | {"chosen": [f"holiday:{day}" for day in days]}


def test_holidays_on_a_training_night_come_first_and_carry_the_night(winter, client):
    text = text_of(client.get(address("holidays", winter.pk)))
    here, others = text.split("On other days")
    assert "Fri 25 Dec 2026: Christmas Day Friday 19:00" in here
    assert "Fri 1 Jan 2027: New Year's Day Friday 19:00" in here
    assert "Sat 26 Dec 2026: Boxing Day" in others
    assert "On a training night" in here


def test_only_ticked_holidays_fall_out_after_a_look(winter, squad, client):
    url = address("holidays", winter.pk)
    answer = client.post(url, ticks(client, winter, "2026-12-25", "2026-12-26"))
    assert "1 session is called off Fri 25 Dec 2026, 19:00: Christmas Day" in text_of(answer)
    assert (off(squad), breaks_of(winter)) == ([], [])
    client.post(url, hidden(answer))
    assert off(squad) == ["25 Dec"]
    assert [gap.uid for gap in breaks_of(winter)] == ["holiday:2026-12-25", "holiday:2026-12-26"]


def test_ticking_the_same_again_changes_nothing_and_unticking_brings_the_session_back(winter, squad, client):
    url = address("holidays", winter.pk)
    client.post(url, hidden(client.post(url, ticks(client, winter, "2026-12-25"))))
    before = list(squad.sessions.values()), list(winter.breaks.values())
    client.post(url, ticks(client, winter, "2026-12-25"))
    assert (list(squad.sessions.values()), list(winter.breaks.values())) == before
    answer = client.post(url, ticks(client, winter))
    assert "1 session takes place again Fri 25 Dec 2026, 19:00" in text_of(answer)
    client.post(url, hidden(answer))
    assert (off(squad), breaks_of(winter)) == ([], [])


def test_breaks_that_are_no_holidays_are_left_alone(winter, client):
    winter.breaks.create(name="Ball", first_day=dt.date(2026, 10, 10), last_day=dt.date(2026, 10, 10))
    url = address("holidays", winter.pk)
    client.post(url, hidden(client.post(url, ticks(client, winter, "2026-12-25"))))
    assert [gap.name for gap in breaks_of(winter)] == ["Ball", "Christmas Day"]


def test_a_holiday_inside_another_break_says_so(winter, client, head):
    change_breaks(
        season=winter, wanted=[Break("Winter break", Stretch(dt.date(2026, 12, 21), dt.date(2027, 1, 3)))],
        by=head, today=TODAY,
    )  # fmt: skip
    text = text_of(client.get(address("holidays", winter.pk)))
    assert "Sat 26 Dec 2026: Boxing Day falls out already: Winter break" in text


def test_another_country_is_chosen_on_the_page_and_its_parts_appear(winter, client):
    url = address("holidays", winter.pk)
    client.post(url, {"place": "1", "country": "DE", "region": ""})
    text = client.get(url).content.decode()
    assert '<option value="BY">Bayern</option>' in text
    client.post(url, {"place": "1", "country": "DE", "region": "BY"})
    assert place_of(winter) == ("DE", "BY")
    assert "Epiphany" in client.get(url).content.decode()


def test_a_part_of_the_old_country_does_not_come_along_to_the_new_one(winter, client, head):
    choose_holidays(season=winter, country="GB", region="SCT", by=head)
    client.post(address("holidays", winter.pk), {"place": "1", "country": "IE", "region": ""})
    assert place_of(winter) == ("IE", "")


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ({"country": "QQ"}, "“QQ” is no country whose holidays are known"),
        ({"country": ""}, "This field is required"),
        ({"country": "GB", "region": "BY"}, "“BY” is no part of this country"),
    ],
)
def test_a_wrong_place_is_refused_in_words_and_nothing_is_kept(place, words, winter, client):
    answer = client.post(address("holidays", winter.pk), {"place": "1"} | place)
    assert words in text_of(answer)
    assert LayingOut.objects.count() == 0


def test_a_place_that_the_library_no_longer_knows_gives_a_message_and_another_can_be_chosen(winter, client):
    LayingOut.objects.create(season=winter, country="QQ", region="")
    answer = client.get(address("holidays", winter.pk))
    assert "“QQ” is no country whose holidays are known" in text_of(answer)
    client.post(address("holidays", winter.pk), {"place": "1", "country": "GB"})
    assert place_of(winter) == ("GB", "")


def test_ticks_made_while_somebody_changed_the_breaks_are_kept_and_nothing_is_written(winter, client):
    given = ticks(client, winter, "2026-12-25")
    winter.breaks.create(name="Ball", first_day=dt.date(2026, 10, 10), last_day=dt.date(2026, 10, 10))
    answer = client.post(address("holidays", winter.pk), given)
    assert "Somebody has changed the breaks" in text_of(answer)
    assert 'value="holiday:2026-12-25" id="n1" checked' in answer.content.decode()
    assert [gap.name for gap in breaks_of(winter)] == ["Ball"]


def test_ticks_for_a_country_that_somebody_changed_meanwhile_are_not_taken_for_another(winter, client, head):
    given = ticks(client, winter, "2026-12-25")
    choose_holidays(season=winter, country="ZA", region="", by=head)
    answer = client.post(address("holidays", winter.pk), given)
    assert "Somebody has chosen another country meanwhile" in text_of(answer)
    assert breaks_of(winter) == []


def test_holidays_of_a_country_before_stay_and_are_named(winter, client, head):
    url = address("holidays", winter.pk)
    client.post(url, hidden(client.post(url, ticks(client, winter, "2026-12-25", "2027-01-01"))))
    choose_holidays(season=winter, country="SA", region="", by=head)
    text = text_of(client.get(url))
    assert "no holiday here: Christmas Day (25 Dec 2026), New Year's Day (1 Jan 2027)" in text
    client.post(url, ticks(client, winter))
    assert len(breaks_of(winter)) == 2


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_takes_the_same_queries_for_any_number_of_nights(
    count, squad, head, client, september, django_assert_num_queries
):
    season = f.SeasonFactory(squad=squad, first_day=AUTUMN.first, last_day=AUTUMN.last)
    for n in range(count):
        tuesdays(season, head, weekday=n)
    with django_assert_num_queries(8):
        client.get(address("holidays", season.pk))
