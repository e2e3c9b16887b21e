"""Drills in the form of a pack: one that is right, and any number that hypothesis makes up."""

from __future__ import annotations

import copy
import json
from typing import Any

from hypothesis import strategies as st

from drills.core.pack import FORMAT, Vocabulary
from drills.models import Ladder, Skill
from shared.models import Club
from tests.drills.diagrams import diagrams, line

SKILLS = ("I03", "I04", "I09", "U01", "B06")
LADDERS = ("A", "D")
VOCABULARY = Vocabulary(frozenset(SKILLS), frozenset(LADDERS))
GROUPS = ("FR", "SR", "BR", "HB", "CE", "B3")

ENTRY: dict[str, Any] = {
    "number": 7,
    "name": "Rope and Cone",
    "purpose": "Keep the line level so that nobody runs through a dog-leg.",
    "skills": [{"skill": "I04", "share": 60, "roles": None}, {"skill": "U01", "share": 40, "roles": ["HB"]}],
    "groups": ["FR", "HB"],
    "needs": {"HB": 1},
    "players": {"least": 4, "ideal": 8, "most": 16},
    "one_more": "The fifth calls.",
    "one_fewer": "The coach plays.",
    "group_shape": "fours in a line",
    "age_from": 14,
    "training_age": "none",
    "grid": {"width": 10, "length": 20, "per": 4},
    "kit": [{"item": "cones", "count": 4, "per": 4}, {"item": "balls", "count": 2, "per": None}],
    "set_up": "Four cones, four players on the line, ball with the coach.",
    "trigger": "Ball lift",
    "runs": ["Up on the lift.", "Stop on the call.", "Walk back and swap."],
    "ends": "Coach calls stop",
    "cues": ["Feet level", "Look in, look out", "Up together"],
    "questions": ["Who was ahead?"],
    "faults": [{"fault": f"Fault {n}", "fix": f"Fix {n}"} for n in range(3)],
    "success": "8 of 10 level",
    "minutes": {"least": 5, "ideal": 8, "most": 12},
    "sets": "2 x 6",
    "work_rest": "1:2",
    "rpe": 6,
    "rung": "C3",
    "contact_share": 30,
    "contacts": {"least": 4, "most": 8},
    "ladder": "A",
    "step": 3,
    "easier": "Two dog-legs: walk it.",
    "harder": "8 of 10 earns the next card.",
    "coaches": 1,
    "coach_place": "Behind the attack",
    "safety": ["5 m between grids.", "Jog only."],
    "diagram": None,
}


def entry(**changes: Any) -> dict[str, Any]:
    return copy.deepcopy(ENTRY) | changes


def pack(*entries: dict[str, Any]) -> bytes:
    return json.dumps({"format": FORMAT, "drills": list(entries)}, ensure_ascii=False, indent=1).encode()


def teach(club: Club) -> None:
    """Give a club the skills and ladders that these drills name."""
    Skill.objects.bulk_create(Skill(club=club, code=code, name=f"Skill {code}", family=code[0]) for code in SKILLS)
    Ladder.objects.bulk_create(Ladder(club=club, code=code, name=f"Ladder {code}") for code in LADDERS)


def span(low: int, high: int, *parts: str) -> st.SearchStrategy[dict[str, int]]:
    numbers = st.lists(st.integers(low, high), min_size=len(parts), max_size=len(parts)).map(sorted)
    return numbers.map(lambda found: dict(zip(parts, found, strict=True)))


@st.composite
def shares(draw) -> list[dict[str, Any]]:
    codes = draw(st.lists(st.sampled_from(SKILLS), min_size=1, max_size=4, unique=True))
    cuts = sorted(draw(st.lists(st.integers(1, 99), min_size=len(codes) - 1, max_size=len(codes) - 1, unique=True)))
    parts = [high - low for low, high in zip([0, *cuts], [*cuts, 100], strict=True)]
    roles = st.none() | st.lists(st.sampled_from([*GROUPS, "backs", "9"]), min_size=1, max_size=3, unique=True)
    return [{"skill": code, "share": part, "roles": draw(roles)} for code, part in zip(codes, parts, strict=True)]


@st.composite
def contact(draw) -> dict[str, Any]:
    rung = draw(st.sampled_from(["C0", "C1", "C2", "C3", "C4", "SP3", "SP4"]))
    if rung == "C0":
        return {"rung": rung, "contact_share": 0, "contacts": {"least": 0, "most": 0}}
    return {"rung": rung, "contact_share": draw(st.integers(1, 100)), "contacts": draw(span(1, 200, "least", "most"))}


@st.composite
def entries(draw) -> dict[str, Any]:
    """Any drill that a club with the skills and ladders above can use."""
    texts = {"name": 60, "purpose": 240, "one_more": 160, "set_up": 500, "trigger": 120, "success": 160}
    groups = draw(st.just(["all"]) | st.lists(st.sampled_from(GROUPS), min_size=1, unique=True))
    players = draw(span(6, 99, "least", "ideal", "most"))
    needed = [group for group in GROUPS if groups == ["all"] or group in groups]
    ladder = draw(st.none() | st.sampled_from(LADDERS))
    lines = st.lists(line(60), min_size=3, max_size=5, unique=True)
    return entry(
        **{name: draw(line(most)) for name, most in texts.items()},
        **draw(contact()),
        number=draw(st.integers(1, 9999)),
        skills=draw(shares()),
        groups=groups,
        needs=draw(st.dictionaries(st.sampled_from(needed), st.just(1), max_size=3)),
        players=players,
        grid={"width": 5, "length": 150, "per": draw(st.none() | st.integers(1, 99))},
        kit=draw(st.sampled_from([[], ENTRY["kit"], ENTRY["kit"][1:]])),
        runs=draw(lines),
        cues=draw(st.lists(line(30).filter(lambda cue: len(cue.split()) <= 6), min_size=3, max_size=5, unique=True)),
        questions=draw(st.lists(line(120), max_size=2)),
        minutes=draw(span(1, 120, "least", "ideal", "most")),
        rpe=draw(st.integers(1, 10)),
        ladder=ladder,
        step=None if ladder is None else draw(st.integers(0, 4)),
        safety=draw(st.lists(line(180), min_size=2, max_size=5, unique=True)),
        diagram=draw(st.none() | diagrams()),
    )
