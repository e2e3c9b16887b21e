"""Loads of a player's ledger: what the page and its file say, and what they say where something is missing."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.core.load import Deviation, Missing
from planner.core.load_gaps import Gap
from planner.ledger import Weeks, ledger_of, with_terms
from planner.ledger_loads import loads_of
from planner.models import FixtureState
from planner.record_models import MatchMinutes
from planner.rpe_models import Rpe
from planner.unconfirmed import Open
from squads.models import Player
from tests import factories as f
from tests.planner.ledger.cast import (
    MONDAY,
    ONE_DAY,
    SUNDAY,
    TODAY,
    address,
    night_on,
    table_of,
    trained,
    trained_daily,
)


def loads(player, first=MONDAY, last=SUNDAY):
    return loads_on(player, dt.date(2026, 9, 1), first, last, TODAY)


def loads_on(player, season, first, last, today):
    still_open = Open.of(player.squad, season, last, timezone.now(), only=player)
    return loads_of(player, season, first, last, today, Deviation.POPULATION, still_open)


def day_of(found, day):
    return next(each for each in found.days if each.day == day)


# Missing is missing, never zero


def test_a_night_nobody_has_confirmed_leaves_its_day_and_week_unknown(player):
    trained(player, MONDAY, 5, 60)
    night_on(player, MONDAY + ONE_DAY)
    found = loads(player)
    tuesday = day_of(found, MONDAY + ONE_DAY)
    assert (tuesday.load, [each.gap for each in tuesday.lacks]) == (Missing.NOT_KNOWN, [Gap.NOT_TOLD])
    week = found.weeks[0].figures
    assert (week.load, week.monotony, week.strain) == (Missing.NOT_KNOWN,) * 3
    assert (week.so_far, week.days_not_known) == (300, 1)


def test_a_night_without_an_answer_is_told_and_counts_as_nothing_else(player, welfare, log_in):
    trained(player, MONDAY, 5, 60)
    session = trained(player, MONDAY + ONE_DAY, 4, None)
    text = log_in(welfare).get(address(player), {"week": str(MONDAY)}).content.decode()
    assert "not all answered: 300 AU known, 1 day is not" in text
    assert "Tue 8 Sep 2026: training: minutes not known" in text
    row = next(each for each in table_of(log_in(welfare), player, MONDAY) if each["from"] == "2026-09-08")
    assert (row["value"], row["note"]) == ("", f"not known; s{session.pk}: no minutes")


def test_a_day_of_rest_is_zero_and_known(player):
    trained(player, MONDAY, 5, 60)
    found = loads(player)
    assert [day.load for day in found.days[:7]] == [300, 0, 0, 0, 0, 0, 0]
    assert found.weeks[1].figures.load == 0


def test_a_match_is_open_until_somebody_tells_who_played(player):
    trained(player, MONDAY, 5, 60)
    saturday = MONDAY + 5 * ONE_DAY
    match = f.FixtureFactory(squad=player.squad, kick_off=dt.datetime(2026, 9, 12, 15, tzinfo=f.LONDON))
    assert day_of(loads(player), saturday).load is Missing.NOT_KNOWN
    other = f.PlayerFactory(squad=player.squad)
    MatchMinutes.objects.create(
        player=other, fixture=match, kick_off=match.kick_off, minutes=80, declared_by="Sheet", by_name="Head"
    )
    assert day_of(loads(player), saturday).load == 0
    assert day_of(loads(other), saturday).lacks[0].gap is Gap.NO_NUMBER
    Rpe.objects.create(player=other, fixture=match, number=8, said_by="x", by_name="x")
    assert day_of(loads(other), saturday).load == 640


def test_a_match_that_was_called_off_and_a_night_that_was_leave_no_gap(player):
    trained(player, MONDAY, 5, 60)
    kick_off = dt.datetime(2026, 9, 12, 15, tzinfo=f.LONDON)
    f.FixtureFactory(squad=player.squad, kick_off=kick_off, state=FixtureState.CANCELLED)
    night = night_on(player, MONDAY + ONE_DAY)
    night.cancelled = True
    night.save()
    assert loads(player).weeks[0].figures.load == 300


def test_today_counts_once_something_is_told_of_it(player):
    trained(player, MONDAY, 5, 60)
    last = loads(player, last=TODAY).days[-1]
    assert last.day == TODAY - ONE_DAY
    trained(player, TODAY, 6, 50, hour=9)
    assert loads(player, last=TODAY).days[-1].load == 300


def test_tonight_is_not_missing_before_it_begins(player, on):
    trained(player, MONDAY, 5, 60)
    night_on(player, TODAY)
    assert not loads(player, last=TODAY).lacking
    on(TODAY + ONE_DAY)
    found = loads_on(player, MONDAY, MONDAY, TODAY, TODAY + ONE_DAY)
    assert [each.day for each in found.lacking] == [TODAY]


def test_nothing_counts_before_he_joined_or_before_anything_is_known(player):
    trained(player, MONDAY + 15 * ONE_DAY, 5, 60)
    assert loads(player).counted_from == dt.date(2026, 9, 21)
    player.joined = dt.date(2026, 9, 28)
    player.save()
    assert loads(player).counted_from is None


def test_a_season_without_any_load_says_so_and_what_to_do(player, head, log_in):
    text = log_in(head).get(address(player)).content.decode()
    assert "No day of these weeks holds a load." in text
    assert "<table" not in text.split('id="load"')[1].split("</section>")[0]


# Description only


def test_no_word_or_mark_of_a_verdict_stands_in_the_section_of_loads(player, head, log_in):
    trained_daily(player, MONDAY, [(5, 20)] * 21 + [(10, 90)] * 7)
    section = log_in(head).get(address(player), {"week": "2026-10-04"}).content.decode().split('id="load"')[1]
    section = section.split("</section>")[0]
    for word in ("word near", "word past", "risk", "danger", "sweet", "safe", "✗", "injur"):
        assert word not in section
    assert "gives no advice by it" in section
    assert "/figures/load/" in section


def test_what_is_published_against_the_figures_is_one_click_away_with_its_sources(player, assistant, log_in):
    text = log_in(assistant).get("/c/brackenford/figures/load/").content.decode()
    assert "This tool gives no advice from these figures" in text
    for source in ("Impellizzeri", "Lolli", "Windt", "Williams", "Wallace", "Drew", "Sampson", "Foster"):
        assert source in text


# Against pandas: rolling sums and exponentially weighted means of a random season, through the file of the page

a_day = st.one_of(st.just("rest"), st.just("open"), st.tuples(st.integers(0, 10), st.integers(1, 120)))


class Undone(Exception):
    pass


@pytest.mark.django_db
# Each example is rolled back, so the rows of the fixtures stand as they stood.
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(days=st.lists(a_day | st.just("rest"), min_size=35, max_size=63), gaps=st.booleans())
def test_the_figures_of_a_random_season_are_those_of_pandas(player, welfare, log_in, on, days, gaps):
    days = [(4, 60), *(("rest" if day == "open" and not gaps else day) for day in days)]
    last = MONDAY + (len(days) - 1) * ONE_DAY
    try:
        with transaction.atomic():
            on(last + ONE_DAY)
            for n, each in enumerate(days):
                feed(player, MONDAY + n * ONE_DAY, each)
            assert_equal_to_pandas(table_of(log_in(welfare), player, last, "season"), series_of(days))
            raise Undone
    except Undone:
        pass


def feed(player, day, each) -> None:
    if each == "open":
        night_on(player, day)
    elif each != "rest":
        trained(player, day, *each)


def series_of(days) -> pd.Series:
    known = {"rest": 0.0, "open": float("nan")}
    values = [known[day] if isinstance(day, str) else float(day[0] * day[1]) for day in days]
    return pd.Series(values, index=pd.date_range(MONDAY, periods=len(days)))


def assert_equal_to_pandas(rows, daily) -> None:
    spreads = daily.groupby(pd.Grouper(freq="W-SUN")).agg(lambda week: week.std(ddof=0, skipna=False))
    seven, month = daily.rolling(7).sum(), daily.rolling(28).sum()
    prior = month - seven
    for row in rows:
        if row["part"] != "week":
            continue
        last = pd.Timestamp(row["to"])
        is_whole = (last - pd.Timestamp(row["from"])).days == 6
        wanted = {
            "load": seven[last] if is_whole else None,
            "monotony": quotient(seven[last] / 7, spreads[last]) if is_whole else None,
            "ratio 7:28 coupled": quotient(seven[last] / 7, month[last] / 28),
            "ratio 7:21 uncoupled": quotient(seven[last] / 7, prior[last] / 21),
            "ratio 7:28 weighted": weighted(daily[:last]),
        }
        if row["figure"] in wanted:
            same(row, wanted[row["figure"]])


def quotient(above, below):
    return above / below if below else None


def weighted(until):
    """pandas carries a mean over a day that is not known; ours begins anew after it."""
    gaps = until.isna().to_numpy().nonzero()[0]
    stretch = until.iloc[gaps[-1] + 1 :] if len(gaps) else until
    if stretch.empty:
        return None
    seven, month = (stretch.ewm(span=over, adjust=False).mean().iloc[-1] for over in (7, 28))
    return quotient(seven, month)


def same(row, wanted) -> None:
    if wanted is None or pd.isna(wanted):
        assert row["value"] == "", row
    else:
        assert float(row["value"] or "nan") == pytest.approx(wanted, rel=1e-9, abs=1e-9), row


# Cost


def test_a_ledger_takes_as_many_queries_for_more_nights_and_weeks(player, welfare, log_in, django_assert_num_queries):
    client = log_in(welfare)
    trained(player, MONDAY, 5, 60)
    with django_assert_num_queries(11):
        client.get(address(player), {"week": str(MONDAY)})
    trained_daily(player, MONDAY + ONE_DAY, [(5, 60)] * 20)
    night_on(player, TODAY - ONE_DAY)
    with django_assert_num_queries(11):
        client.get(address(player), {"week": str(SUNDAY), "weeks": "season"})
    with django_assert_num_queries(5):  # kept until something changes in the club
        client.get(address(player), {"week": str(SUNDAY), "weeks": "season"})


def test_what_is_fetched_with_the_player_is_what_the_rest_of_the_site_finds(player, squad):
    from planner.windows import season_start
    from squads.models import ContactRules

    f.ContactRulesFactory(club=squad.club, ladder_minutes=20, ladder_days=21)
    f.ContactRulesFactory(club=squad.club, squad=squad, ladder_minutes=25, valid_from=dt.date(2026, 10, 1))
    for day in (dt.date(2026, 6, 1), MONDAY, TODAY):
        found = with_terms(Player.objects.all(), day).get(pk=player.pk)
        rules = ContactRules.objects.in_force(squad, day)
        assert (found.rung_minutes, found.rung_days) == (rules and rules.ladder_minutes, rules and rules.ladder_days)
        ledger = ledger_of(found, Weeks(day - day.weekday() * ONE_DAY, 4), TODAY)
        assert ledger.needed == ((rules.ladder_minutes, rules.ladder_days) if rules else (15, 28))
        assert (found.season_from or day - dt.timedelta(days=365)) == season_start(squad, day)
