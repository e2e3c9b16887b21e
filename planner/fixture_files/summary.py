"""Who plays whom, from one line of text such as “Brackenford v Netherby Cross” or “Away: Netherby Cross”.

The rule, in order; the first that fits is taken:
1. a leading “Home:”, “Away:”, “H:”, “A:” or a leading or closing “(H)”, “(A)”, “(home)”, “(away)” tells where;
   go on with the rest;
2. “X v Y” (also vs, versus, or a dash between blanks): if one side holds the name of the club, the other is the
   opponent, and the side named first plays at home; “X @ Y” and “X at Y”: Y plays at home;
3. a leading “v”, “vs”, “@” or “at”: what follows is the opponent; after @ and at we are away;
4. otherwise the whole text is the opponent, and where stays unknown.
"""

from __future__ import annotations

import re

from planner.models import FixtureState

TOLD = [
    re.compile(r"^(home|away|h|a)(\s*:|\s+[–—-]\s)", re.IGNORECASE),
    re.compile(r"^[(\[](home|away|h|a)[)\]]", re.IGNORECASE),
    re.compile(r"[(\[](home|away|h|a)[)\]]$", re.IGNORECASE),
]
BETWEEN = re.compile(r"\s+(v|vs|versus|[–—-]|@|at)\.?\s+", re.IGNORECASE)
LEADING = re.compile(r"^(v|vs|versus|@|at)(\.\s*|\s+|(?<=@))(?=\S)", re.IGNORECASE)
AWAY_WORDS = {"@", "at"}
# Words that say nothing about which club it is.
GENERIC = {"rfc", "rufc", "rc", "fc", "club", "rugby", "football", "union", "the", "of", "and"}
TRAINING = {"training", "practice"}
# What many programs write into the title, for want of a place of its own: “Postponed: X v Y”, “X v Y (cancelled)”.
CALLED, OFF, APART = r"(?:match|fixture|game)", "(postponed|cancell?ed)", r"(?:\s*:\s*|\s+[–—-]\s+)"
OFF_STATES = {
    "postponed": FixtureState.POSTPONED,
    "cancelled": FixtureState.CANCELLED,
    "canceled": FixtureState.CANCELLED,
}
BEFORE = re.compile(rf"^(?:(?:{CALLED}\s+)?{OFF}|{CALLED}){APART}(?=\S)", re.IGNORECASE)
BEHIND = re.compile(rf"(?<=\S)(?:\s*[(\[]{OFF}[)\]]|{APART}{OFF})$", re.IGNORECASE)


def parted(text: str) -> tuple[str, FixtureState | None]:
    """The title without the words that say what it is and that it is off, and what they say of it."""
    text, state = " ".join(text.split()), None
    for words in (BEFORE, BEHIND):
        if found := words.search(text):
            text = text[: found.start()] + text[found.end() :]
            state = state or next((OFF_STATES[told.lower()] for told in found.groups() if told), None)
    return text, state


def read_summary(text: str, club: str) -> tuple[str, bool | None]:
    """The opponent, and whether we play at home (None: not told)."""
    text = " ".join(text.split())
    for told in TOLD:
        found = told.search(text)
        if found and (rest := (text[: found.start()] + text[found.end() :]).strip()):
            return opponent_in(rest, club)[0], found[1][0].lower() == "h"
    return opponent_in(text, club)


def opponent_in(text: str, club: str) -> tuple[str, bool | None]:
    for between in BETWEEN.finditer(text):
        first, second = text[: between.start()].strip(), text[between.end() :].strip()
        if first and second and is_ours(first, club) != is_ours(second, club):
            ours_first = is_ours(first, club)
            return (second if ours_first else first), ours_first != (between[1].lower() in AWAY_WORDS)
    leading = LEADING.match(text)
    if leading:
        return text[leading.end() :], False if leading[1].lower() in AWAY_WORDS else None
    return text, None


def is_ours(side: str, club: str) -> bool:
    """The side holds every telling word of the club's name."""
    telling = words_of(club) - GENERIC or words_of(club)
    return bool(telling) and telling <= words_of(side)


def is_training(text: str) -> bool:
    return bool(words_of(text) & TRAINING)


def words_of(text: str) -> set[str]:
    return set(re.findall(r"[^\W_]+", text.casefold()))
