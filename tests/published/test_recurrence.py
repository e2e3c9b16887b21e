"""RFC 5545, section 3.8.5.3 (RRULE) and 3.8.5.1 (EXDATE), examples of the published text, through our own layout.

`recurring` is what nights are laid out by; `weekdays_between` and `pattern_days` stand on it. The first five tests
hold cases that were read in the text; those of RECALLED are from memory of the same section.
"""

from __future__ import annotations

import datetime as dt
from itertools import islice
from zoneinfo import ZoneInfo

import pytest

from planner.core.calendar import Stretch, iso_week, recurring, weekdays_between
from planner.core.laying_out import Calendar, Fate, Night, pattern_days

NEW_YORK = ZoneInfo("America/New_York")
START = dt.datetime(1997, 9, 2, 9, tzinfo=NEW_YORK)


def days(rule: str, starts: dt.datetime = START, without=(), most: int = 200) -> list[str]:
    return [f"{moment:%Y %b %-d}" for moment in islice(recurring(rule, starts, without), most)]


def dated(text: str) -> list[str]:
    """dated("1997 Sep 2 9, Oct 7") is what days() gives for these days."""
    found, year, month = [], "", ""
    for word in text.replace(",", "").split():
        if word.isalpha():
            month = word
        elif len(word) == 4:
            year = word
        else:
            found.append(f"{year} {month} {word}")
    return found


def test_every_friday_the_13th_without_the_day_that_exdate_takes_out():
    rule = "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13"
    assert days(rule, without=[START], most=5) == dated("1998 Feb 13 Mar 13 Nov 13 1999 Aug 13 2000 Oct 13")
    offsets = [moment.utcoffset() for moment in islice(recurring(rule, START), 5)]
    assert [offset / dt.timedelta(hours=1) for offset in offsets] == [-5, -5, -5, -4, -4]


def test_an_exdate_takes_out_a_day_that_the_rule_gives():
    gone = dt.datetime(1997, 9, 16, 9, tzinfo=NEW_YORK)
    assert days("FREQ=WEEKLY;COUNT=4", without=[gone]) == dated("1997 Sep 2 9 23")


TEN = dated("1997 Sep 2 4 9 11 16 18 23 25 30 Oct 2")


@pytest.mark.parametrize("end", ["COUNT=10", "UNTIL=19971007T000000Z"])
def test_tuesday_and_thursday_for_five_weeks(end):
    assert days(f"FREQ=WEEKLY;{end};WKST=SU;BYDAY=TU,TH") == TEN


def test_every_other_week_on_tuesday_and_thursday():
    rule = "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH"
    assert days(rule) == dated("1997 Sep 2 4 16 18 30 Oct 2 14 16")


@pytest.mark.parametrize(("first", "expected"), [("MO", "Aug 5 10 19 24"), ("SU", "Aug 5 17 19 31")])
def test_the_day_on_which_a_week_starts_makes_a_difference(first, expected):
    rule = f"FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST={first}"
    assert days(rule, dt.datetime(1997, 8, 5, 9, tzinfo=NEW_YORK)) == dated(f"1997 {expected}")


RECALLED = [
    ("FREQ=DAILY;COUNT=10", START, "1997 Sep 2 3 4 5 6 7 8 9 10 11"),
    ("FREQ=DAILY;INTERVAL=10;COUNT=5", START, "1997 Sep 2 12 22 Oct 2 12"),
    ("FREQ=WEEKLY;COUNT=10", START, "1997 Sep 2 9 16 23 30 Oct 7 14 21 28 Nov 4"),
    (
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR",
        dt.datetime(1997, 9, 1, 9, tzinfo=NEW_YORK),
        "1997 Sep 1 3 5 15 17 19 29 Oct 1 3 13 15 17 27 29 31 Nov 10 12 14 24 26 28 Dec 8 10 12 22",
    ),
    (
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        dt.datetime(1997, 9, 5, 9, tzinfo=NEW_YORK),
        "1997 Sep 5 Oct 3 Nov 7 Dec 5 1998 Jan 2 Feb 6 Mar 6 Apr 3 May 1 Jun 5",
    ),
    (
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        dt.datetime(1997, 9, 22, 9, tzinfo=NEW_YORK),
        "1997 Sep 22 Oct 20 Nov 17 Dec 22 1998 Jan 19 Feb 16",
    ),
    (
        "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8;COUNT=3",
        dt.datetime(1996, 11, 5, 9, tzinfo=NEW_YORK),
        "1996 Nov 5 2000 Nov 7 2004 Nov 2",
    ),
    (
        "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5",
        dt.datetime(2007, 1, 15, 9, tzinfo=NEW_YORK),
        "2007 Jan 15 30 Feb 15 Mar 15 30",
    ),
]


@pytest.mark.parametrize(("rule", "starts", "expected"), RECALLED, ids=[rule for rule, *_ in RECALLED])
def test_other_examples_of_the_section(rule, starts, expected):
    assert days(rule, starts) == dated(expected)


def test_monday_of_week_20_is_in_week_20():
    """FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO, recalled; the number is the one that our week pages show."""
    start = dt.datetime(1997, 5, 12, 9, tzinfo=NEW_YORK)
    found = list(islice(recurring("FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO", start), 3))
    assert [f"{moment:%Y %b %-d}" for moment in found] == dated("1997 May 12 1998 May 11 1999 May 17")
    assert {iso_week(moment.date())[1] for moment in found} == {20}


def test_nine_in_the_morning_stays_nine_when_new_york_changes_its_clocks():
    """Weekly for ten: the text names EDT up to 21 October and EST from 28 October on."""
    moments = list(recurring("FREQ=WEEKLY;COUNT=10", START))
    assert {f"{moment:%H:%M}" for moment in moments} == {"09:00"}
    assert [f"{m.astimezone(dt.UTC):%-d %H}" for m in moments][-3:] == ["21 13", "28 14", "4 14"]


def test_a_night_of_ours_is_the_weekly_rule_of_the_text():
    days_of_rule = Stretch(START.date(), dt.date(1997, 12, 23))
    tuesdays = weekdays_between(1, days_of_rule)
    by_rule = list(recurring("FREQ=WEEKLY;UNTIL=19971224T000000Z", START))
    assert tuesdays == [moment.date() for moment in by_rule]


def test_two_nights_laid_out_are_the_rule_with_two_days():
    season = Stretch(START.date(), dt.date(1997, 10, 6))
    nights = [Night(n, weekday, dt.time(9), season, NEW_YORK) for n, weekday in enumerate((1, 3))]
    found = [each for each in pattern_days(nights, Calendar(season, season.first)) if each.fate is Fate.NEW]
    found.sort(key=lambda each: each.starts_at)
    assert [f"{each.starts_at:%Y %b %-d}" for each in found] == TEN
    assert found[0].starts_at == START
