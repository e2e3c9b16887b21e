"""The pages of load against the published example and the vectors of the definitions, fed through nights and numbers.

- Foster et al. 2001, J Strength Cond Res 15(1):109-115, table 5 (see test_foster_2001): the page adds up days, and the
  paper nine sessions, so that its printed load is met, and its printed monotony (1.26, of nine sessions) is not: seven
  days give 1.21 as a population and 1.12 as a sample (derived). The sessions of Sunday come last here, since a week of
  ours ends with it; neither figure depends on the order.
- Ratios: derived from the definitions (see test_load_ratios); no day-by-day example with its result could be read.
"""

import datetime as dt

import pytest

from tests.planner.ledger.cast import address, figures_of, table_of, trained, trained_daily
from tests.planner.ledger.conftest import on, player  # noqa: F401 - fixtures

MONDAY = dt.date(2026, 9, 7)
# Day of the week from Monday on, RPE, minutes; the two second sessions are inferred from the layout.
SESSIONS = [
    (0, 2, 25),
    (1, 7, 120),
    (1, 7, 40),
    (2, 3, 60),
    (3, 8, 75),
    (4, 2, 25),
    (5, 8, 75),
    (5, 7, 40),
    (6, 5, 180),
]
# The same with minutes, or a number, that give the loads as they are printed: 940 for 5 x 180, 390 for 8 x 75.
MENDED = {(5, 180): (5, 188), (8, 75): (6, 65)}
PRINTED = [(day, *MENDED.get((number, minutes), (number, minutes))) for day, number, minutes in SESSIONS]


def feed(player, sessions) -> None:  # noqa: F811
    for n, (day, number, minutes) in enumerate(sessions):
        trained(player, MONDAY + dt.timedelta(days=day), number, minutes, hour=9 + n)


def week_shown(client, player):  # noqa: F811
    return client.get(address(player), {"week": str(MONDAY)}).content.decode()


@pytest.mark.parametrize(
    ("sessions", "load", "monotony", "strain"),
    [(PRINTED, "3400 AU", "1.21", "4119"), (SESSIONS, "3780 AU", "1.31", "4940")],
    ids=["loads as printed", "RPE times minutes"],
)
def test_the_page_shows_the_week_of_foster(player, welfare, log_in, sessions, load, monotony, strain):  # noqa: F811
    feed(player, sessions)
    text = week_shown(log_in(welfare), player)
    for shown in (load, monotony, strain):
        assert f">{shown}</td>" in text
    assert "Monotony (population deviation)" in text


def test_the_file_holds_the_figures_of_foster_unrounded(player, welfare, log_in):  # noqa: F811
    feed(player, PRINTED)
    rows = table_of(log_in(welfare), player, MONDAY)
    assert figures_of(rows, "load") == {str(MONDAY): "3400.0"}
    assert float(figures_of(rows, "monotony")[str(MONDAY)]) == pytest.approx(1.2116, abs=5e-5)
    days = [float(value) for value in figures_of(rows, "load", "day").values()]
    assert days == [50, 1120, 180, 390, 50, 670, 940]


@pytest.mark.parametrize(
    ("loads", "coupled", "uncoupled", "weighted"),
    [
        ([(5, 20)] * 21 + [(5, 40)] * 7, "1.60", "2.00", "1.34"),
        ([(6, 50), (0, 0), (9, 50), (8, 50), (0, 0), (3, 50), (7, 100)] * 4, "1.00", "1.00", "1.14"),
    ],
    ids=["step", "weeks"],
)
def test_the_page_shows_the_derived_ratios(player, welfare, log_in, loads, coupled, uncoupled, weighted):  # noqa: F811
    trained_daily(player, MONDAY, loads)
    text = log_in(welfare).get(address(player), {"week": "2026-10-04"}).content.decode()
    row = text.split('<th scope="row">4 Oct 2026</th>')[1].split("</tr>")[0]
    for shown in (f">{coupled}</td>", f">{uncoupled}</td>", f">{weighted}, warming up</td>"):
        assert shown in row
