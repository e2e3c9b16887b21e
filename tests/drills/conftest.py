from __future__ import annotations

import datetime as dt

import pytest

from drills.actions import add_drill
from tests.drills.packs import entry, teach


@pytest.fixture
def library(club):
    """A club that knows the skills and ladders of the packs of these tests."""
    teach(club)
    return club


@pytest.fixture
def drill(library, head):
    return add_drill(library, entry(), by=head, today=dt.date(2026, 10, 6))
