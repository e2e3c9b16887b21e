"""All loads recomputed at once, beside polars doing the same in the same run. docs/figures.md has the figures."""

from __future__ import annotations

import datetime as dt
import statistics
import sys
import time
from collections.abc import Callable

import numpy as np
import polars as pl
import pytest

from planner.core.load_table import Loads, daily_loads, loads_of

FIRST = dt.date(2025, 9, 1)  # a Monday
DAYS = 400
ROUNDS = 7


def stored(players: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Daily totals as they are stored: a row for each day and player, player by player. Two days in seven are rest."""
    dice = np.random.default_rng(7)
    player, day = np.repeat(np.arange(players), DAYS), np.tile(np.arange(DAYS), players)
    load = dice.integers(1, 11, player.size) * dice.integers(20, 90, player.size) * (day % 7 < 5).astype(float)
    return player, day, load


def sessions(players: int, rows: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    dice = np.random.default_rng(11)
    load = dice.integers(1, 11, rows) * dice.integers(20, 90, rows).astype(float)
    return dice.integers(0, players, rows), dice.integers(0, DAYS, rows), load


def by_numpy(player: np.ndarray, day: np.ndarray, load: np.ndarray, players: int) -> Loads:
    return loads_of(daily_loads(player, day, load, players, DAYS), FIRST)


def by_polars(player: np.ndarray, day: np.ndarray, load: np.ndarray, players: int) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The same from the same arrays: a full grid, rolling and weighted means over each player, weekly sums."""
    grid = pl.DataFrame({"player": np.repeat(np.arange(players), DAYS), "day": np.tile(np.arange(DAYS), players)})
    sums = pl.DataFrame({"player": player, "day": day, "load": load}).group_by("player", "day").agg(pl.sum("load"))
    daily = grid.join(sums, on=["player", "day"], how="left", maintain_order="left").with_columns(
        pl.col("load").fill_null(0)
    )
    return with_figures(daily)


def by_polars_from_totals(player: np.ndarray, day: np.ndarray, load: np.ndarray) -> tuple[pl.DataFrame, pl.DataFrame]:
    """As quick as polars can be told: the totals are whole and in order, so that it need not group or join."""
    return with_figures(pl.DataFrame({"player": player, "day": day, "load": load}))


def with_figures(daily: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    load = pl.col("load")
    figures = daily.lazy().with_columns(
        acute=load.rolling_mean(7).over("player"),
        chronic=load.rolling_mean(28).over("player"),
        short=load.ewm_mean(span=7, adjust=False).over("player"),
        long=load.ewm_mean(span=28, adjust=False).over("player"),
    )
    figures = figures.with_columns(
        coupled=pl.col("acute") / pl.col("chronic"), weighted=pl.col("short") / pl.col("long")
    )
    weekly = daily.lazy().group_by("player", pl.col("day") // 7).agg(pl.sum("load"))
    return tuple(pl.collect_all([figures, weekly]))


def paired(ours: Callable[[], object], theirs: Callable[[], object]) -> tuple[float, float, float]:
    """Median milliseconds of both, and the median of the ratios of rounds side by side (theirs / ours)."""
    spent = [(clocked(ours), clocked(theirs)) for _round in range(ROUNDS)]
    columns = zip(*spent, strict=True)
    return *map(statistics.median, columns), statistics.median(theirs / ours for ours, theirs in spent)


def clocked(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return (time.perf_counter() - begun) * 1000


def grid_of(figures: pl.DataFrame, name: str, players: int) -> np.ndarray:
    return figures[name].to_numpy().reshape(players, DAYS).T


def test_both_give_the_same_figures():
    rows = sessions(50, 20_000)
    ours, (theirs, weekly) = by_numpy(*rows, 50), by_polars(*rows, 50)
    for name in ("acute", "chronic", "coupled", "weighted"):
        expected = grid_of(theirs, name, 50)
        shown = np.isfinite(expected)
        np.testing.assert_allclose(getattr(ours, name)[shown], expected[shown], rtol=1e-9)
    whole = weekly.filter(pl.col("day") < DAYS // 7).sort("day", "player")["load"].to_numpy().reshape(-1, 50)
    np.testing.assert_allclose(ours.weekly, whole, rtol=1e-9)


@pytest.mark.parametrize(
    ("name", "players", "rows", "theirs"),
    [
        ("1,000,000 stored daily totals", 2_500, stored(2_500), lambda p, d, x: by_polars_from_totals(p, d, x)),
        ("1,000,000 sessions", 1_000, sessions(1_000, 1_000_000), lambda p, d, x: by_polars(p, d, x, 1_000)),
    ],
    ids=["totals", "sessions"],
)
def test_a_million_rows_are_recomputed_at_least_as_fast_as_by_polars(name, players, rows, theirs, capsys):
    ours, polars, times = paired(lambda: by_numpy(*rows, players), lambda: theirs(*rows))
    with capsys.disabled():
        sys.stdout.write(f"\n{name}: {ours:.0f} ms, polars {polars:.0f} ms, ratio {times:.1f}\n")
    assert times >= 1
