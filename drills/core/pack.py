"""The rules of a drill that no schema can state: what its fields must be to one another, and to the club.

An entry is one drill in the form of a drill pack (drills/data/pack.schema.json), already of the right shape.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from drills.core import diagram
from drills.core.fault import Fault
from shared.core.contact import RUNGS, Kind

FORMAT = "plumbline-drills/1"
CUE_WORDS = 6
SAFETY_NOTES = 2

Entry = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The codes that a club knows."""

    skills: frozenset[str]
    ladders: frozenset[str]


def faults(entry: Entry, vocabulary: Vocabulary) -> list[Fault]:
    """Everything that breaks a rule; empty for a drill that the club can use."""
    return [
        *(fault for rule in RULES for fault in rule(entry)),
        *unknown_codes(entry, vocabulary),
    ]


def unknown_codes(entry: Entry, vocabulary: Vocabulary) -> Iterator[Fault]:
    for place, share in enumerate(entry["skills"]):
        if share["skill"] not in vocabulary.skills:
            yield Fault(
                ("skills", place, "skill"), f"the club has no skill {share['skill']}; add it, or use one it has"
            )
    if entry["ladder"] is not None and entry["ladder"] not in vocabulary.ladders:
        yield Fault(("ladder",), f"the club has no ladder {entry['ladder']}; add it, or write null")


def shares_sum_to_100(entry: Entry) -> Iterator[Fault]:
    total = sum(share["share"] for share in entry["skills"])
    if total != 100:
        yield Fault(("skills",), f"the shares sum to {total}; make them sum to 100")


def skills_stand_once(entry: Entry) -> Iterator[Fault]:
    seen: set[str] = set()
    for place, share in enumerate(entry["skills"]):
        if share["skill"] in seen:
            yield Fault(("skills", place, "skill"), f"{share['skill']} stands there twice; join the two shares")
        seen.add(share["skill"])


def all_stands_alone(entry: Entry) -> Iterator[Fault]:
    if "all" in entry["groups"] and len(entry["groups"]) > 1:
        yield Fault(("groups",), "“all” includes every other group; write it alone, or leave it out")


def needed_groups_fit(entry: Entry) -> Iterator[Fault]:
    most, needed = entry["players"]["most"], sum(entry["needs"].values())
    if needed > most:
        yield Fault(("needs",), f"needs {needed} players of named groups, but takes {most} at most")
    for group in sorted(set(entry["needs"]) - set(entry["groups"])):
        if "all" not in entry["groups"]:
            yield Fault(("needs", group), f"needs {group}, who are not among the groups that it fits")


def spans_rise(entry: Entry) -> Iterator[Fault]:
    for field in ("players", "minutes"):
        span = entry[field]
        if not span["least"] <= span["ideal"] <= span["most"]:
            told = f"least {span['least']}, ideal {span['ideal']}, most {span['most']}"
            yield Fault((field,), f"{told}: put them in rising order")
    least, most = entry["contacts"]["least"], entry["contacts"]["most"]
    if least > most:
        yield Fault(("contacts",), f"least {least}, most {most}: put them in rising order")


def cues_are_short(entry: Entry) -> Iterator[Fault]:
    for place, cue in enumerate(entry["cues"]):
        words = len(cue.split())
        if words > CUE_WORDS:
            yield Fault(("cues", place), f"has {words} words; a cue that is heard has {CUE_WORDS} at most")


def kit_stands_once(entry: Entry) -> Iterator[Fault]:
    seen: set[tuple[str, bool]] = set()
    for place, line in enumerate(entry["kit"]):
        key = (line["item"], line["per"] is None)
        if key in seen:
            yield Fault(("kit", place), f"{line['item'].replace('_', ' ')} stand there twice; join the two lines")
        seen.add(key)


def ladder_has_a_step(entry: Entry) -> Iterator[Fault]:
    if entry["ladder"] is not None and entry["step"] is None:
        yield Fault(("step",), f"is missing: which step of ladder {entry['ladder']}, 0 to 4?")
    if entry["ladder"] is None and entry["step"] is not None:
        yield Fault(("ladder",), f"is missing: step {entry['step']} of which ladder?")


def contact_agrees_with_the_rung(entry: Entry) -> Iterator[Fault]:
    rung, share, most = entry["rung"], entry["contact_share"], entry["contacts"]["most"]
    if rung == "C0":
        if share:
            yield Fault(("contact_share",), f"is {share} %, but C0 is without contact; write 0, or choose another rung")
        if most:
            yield Fault(("contacts",), f"up to {most}, but C0 is without contact; write 0, or choose another rung")
    elif RUNGS[rung].kind is not Kind.NONE:
        if not share:
            yield Fault(("contact_share",), f"is 0, but {rung} is counted by it; say what share of the time is contact")
        if not entry["contacts"]["least"]:
            yield Fault(("contacts",), f"from 0, but at {rung} every player meets contact; say how often at least")


def contact_has_safety_notes(entry: Entry) -> Iterator[Fault]:
    count = len(entry["safety"])
    if entry["rung"] != "C0" and count < SAFETY_NOTES:
        yield Fault(("safety",), f"has {count} notes; from C1 up a card carries {SAFETY_NOTES} of its own or more")


def diagram_can_be_drawn(entry: Entry) -> Iterator[Fault]:
    """A drill need not have one, and a pack from before there were diagrams does not mention it."""
    if (drawn := entry.get("diagram")) is not None:
        yield from (Fault(("diagram", *fault.path), fault.why) for fault in diagram.faults(drawn))


RULES: tuple[Callable[[Entry], Iterator[Fault]], ...] = (
    shares_sum_to_100,
    skills_stand_once,
    all_stands_alone,
    needed_groups_fit,
    spans_rise,
    cues_are_short,
    kit_stands_once,
    ladder_has_a_step,
    contact_agrees_with_the_rung,
    contact_has_safety_notes,
    diagram_can_be_drawn,
)
