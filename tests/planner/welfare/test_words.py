"""Figures of the welfare officer's page in words."""

from __future__ import annotations

import pytest

from planner.core.windows import Measure
from planner.welfare_words import unit_of


@pytest.mark.parametrize(
    ("measure", "amount", "unit"),
    [
        (Measure.SEASON_MATCHES, 1, "match"),
        (Measure.SEASON_MATCHES, 0, "matches"),
        (Measure.SEASON_MATCHES, 2, "matches"),
        (Measure.FULL_DAYS, 1, "day"),
        (Measure.FULL_DAYS, 2, "days"),
        (Measure.MATCH_HOURS, 1, "h"),
        (Measure.FULL, 1, "min"),
    ],
)
def test_a_unit_follows_its_number(measure, amount, unit):
    assert unit_of(measure, amount) == unit
