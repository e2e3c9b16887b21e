"""Who plays whom, from one line of text."""

from __future__ import annotations

import pytest

from planner.fixture_files.summary import parted, read_summary


@pytest.mark.parametrize(
    ("text", "opponent", "home"),
    [
        ("Brackenford v Netherby Cross", "Netherby Cross", True),
        ("Netherby Cross v Brackenford", "Netherby Cross", False),
        ("BRACKENFORD RFC 1st XV vs. Netherby Cross", "Netherby Cross", True),
        ("Netherby Cross - Brackenford RFC", "Netherby Cross", False),
        ("Brackenford @ Netherby Cross", "Netherby Cross", False),
        ("Netherby Cross at Brackenford", "Netherby Cross", True),
        ("Away: Netherby Cross", "Netherby Cross", False),
        ("H: Netherby Cross", "Netherby Cross", True),
        ("(H) Netherby Cross", "Netherby Cross", True),
        ("Netherby Cross (A)", "Netherby Cross", False),
        ("Netherby Cross [home]", "Netherby Cross", True),
        ("Home: Brackenford v Netherby Cross", "Netherby Cross", True),
        ("v Netherby Cross", "Netherby Cross", None),
        ("vs. Netherby Cross", "Netherby Cross", None),
        ("@Netherby Cross", "Netherby Cross", False),
        ("at Netherby Cross", "Netherby Cross", False),
        ("Netherby Cross", "Netherby Cross", None),
        ("Netherby-Cross v Hollin", "Netherby-Cross v Hollin", None),
        ("A-team v Brackenford", "A-team", False),
        ("Vale of Athol", "Vale of Athol", None),
        ("Brackenford v Brackenford", "Brackenford v Brackenford", None),
        ("Away:", "Away:", None),
        ("v", "v", None),
        ("", "", None),
    ],
)
def test_a_title_tells_opponent_and_place_or_is_taken_whole(text, opponent, home):
    assert read_summary(text, "Brackenford RFC") == (opponent, home)


def test_a_club_of_common_words_only_is_known_by_all_of_them():
    assert read_summary("Rugby Club v Hollin", "Rugby Club") == ("Hollin", True)


@pytest.mark.parametrize(
    ("text", "rest", "state"),
    [
        ("Postponed: Brackenford v Hollin", "Brackenford v Hollin", "postponed"),
        ("POSTPONED - Brackenford v Hollin", "Brackenford v Hollin", "postponed"),
        ("Brackenford v Hollin (cancelled)", "Brackenford v Hollin", "cancelled"),
        ("Brackenford v Hollin [Canceled]", "Brackenford v Hollin", "cancelled"),
        ("Brackenford v Hollin - postponed", "Brackenford v Hollin", "postponed"),
        ("Match cancelled: Hollin (home)", "Hollin (home)", "cancelled"),
        ("Match: Hollin (away)", "Hollin (away)", None),
        ("Game-Hollin v Brackenford", "Game-Hollin v Brackenford", None),
        ("Postponed", "Postponed", None),
        ("Postponed:", "Postponed:", None),
        ("Hollin", "Hollin", None),
    ],
)
def test_a_title_may_say_that_a_match_is_off(text, rest, state):
    assert parted(text) == (rest, state)
