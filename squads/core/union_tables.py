"""Tables for a graded return after a head injury, as far as a text of the union could be read.

Day 0 is the day of the injury. Each table says how far it was verified; what a text does not state stays empty
here and is never guessed. Governing bodies change their rules each season: the union's current text decides.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from enum import StrEnum

NOT_STATED = "not stated: ask the union"


class Step(StrEnum):
    """What a player comes back to, in this order."""

    NON_CONTACT = "non_contact"
    CONTACT = "contact"
    MATCH = "match"

    @property
    def place(self) -> int:
        return list(Step).index(self)


@dataclass(frozen=True, slots=True)
class Least:
    """What must have passed before a step. None: not stated.

    `day`: the first day, counted from the injury as day 0. `clear`: whole days without symptoms at rest;
    0 asks only that symptoms are over.
    """

    day: int | None = None
    clear: int | None = None

    def with_stricter(self, other: Least) -> Least:
        return Least(most(self.day, other.day), most(self.clear, other.clear))


def most(*counts: int | None) -> int | None:
    """The largest of those that are stated."""
    return max((count for count in counts if count is not None), default=None)


@dataclass(frozen=True, slots=True)
class Table:
    """One rule set for players from `from_age` to below `below_age` on the day of the injury.

    `step_days` is the least that one step takes before the next; `medical_before` the first step that wants a
    medical clearance; `doctor_after` the days of symptoms after which a doctor must look again. A table that is
    not `offered` is kept for what was decided by it, and chosen for nobody new.
    """

    key: str
    union: str
    name: str
    source: str
    verified: str
    non_contact: Least = Least()
    contact: Least = Least()
    match: Least = Least()
    from_age: int = 0
    below_age: int | None = None
    step_days: int = 0
    medical_before: Step | None = None
    doctor_after: int | None = None
    note: str = ""
    offered: bool = True

    def least(self, step: Step) -> Least:
        return {Step.NON_CONTACT: self.non_contact, Step.CONTACT: self.contact, Step.MATCH: self.match}[step]

    def first_day(self, step: Step) -> str:
        """In words: "Day 15", or that it is not stated."""
        day = self.least(step).day
        return NOT_STATED if day is None else f"Day {day}"

    def is_for(self, age: int) -> bool:
        return self.from_age <= age and (self.below_age is None or age < self.below_age)

    def with_stricter(self, other: Table) -> Table:
        """This table, with whatever the other one asks beyond it."""
        befores = [step for step in (self.medical_before, other.medical_before) if step is not None]
        return replace(
            self,
            non_contact=self.non_contact.with_stricter(other.non_contact),
            contact=self.contact.with_stricter(other.contact),
            match=self.match.with_stricter(other.match),
            step_days=max(self.step_days, other.step_days),
            medical_before=min(befores, key=lambda step: step.place, default=None),
        )


WORLD_RUGBY = Table(
    "world-rugby",
    "world-rugby",
    "World Rugby, the least for unions below the elite game",
    "World Rugby, Regulation 10.1.1 and concussion guidance for the non-elite game; steps of 24 hours: consensus "
    "statements of Berlin 2016 and Amsterdam 2022",
    "Regulation read on World Rugby's own page, but its least number of days was cut off there; of the consensus "
    "statements the first ladder and the second's abstract were read",
    non_contact=Least(clear=0),
    contact=Least(clear=0),
    match=Least(clear=0),
    step_days=1,
    medical_before=Step.CONTACT,
    note="Unions must treat this as a minimum. Recovery is slower under 18.",
)

TABLES: dict[str, Table] = {
    table.key: table
    for table in (
        Table(
            "uk-grassroots",
            "uk-grassroots",
            "UK grassroots guidance, all ages",
            "UK concussion guidance for grassroots sport (April 2023, updated November 2024) as taken over for rugby",
            "Read in a club's page that quotes the union's text and in a hosted sheet, not in the union's own",
            non_contact=Least(day=8),
            contact=Least(day=15, clear=14),
            match=Least(day=21, clear=14),
            doctor_after=28,
            note="Rest of 24 to 48 hours, then daily life and light work, then aerobic work as symptoms allow.",
        ),
        Table(
            "irfu-adult",
            "irfu",
            "Irish union, 20 and over",
            "Irish Rugby Football Union, concussion protocols",
            "Read on the union's own page: six stages and the least number of days; the days of the stages were not",
            match=Least(day=21),
            from_age=20,
        ),
        Table(
            "irfu-u20",
            "irfu",
            "Irish union, under 20",
            "Irish Rugby Football Union, concussion protocols",
            "Read on the union's own page: six stages and the least number of days; the days of the stages were not",
            match=Least(day=23),
            below_age=20,
        ),
        Table(
            "nzr-adult",
            "nzr",
            "New Zealand, 19 and over",
            "New Zealand Rugby and ACC, stand-down after concussion",
            "Read in an optician's page that quotes it: the stand-down only",
            match=Least(day=21),
            from_age=19,
        ),
        Table(
            "nzr-u19",
            "nzr",
            "New Zealand, under 19",
            "New Zealand Rugby and ACC, stand-down after concussion",
            "Read in an optician's page that quotes it: the stand-down only",
            match=Least(day=23),
            below_age=19,
        ),
        Table(
            "ffr-2020-u18",
            "ffr",
            "French federation, text of January 2020, under 19",
            "Fédération Française de Rugby, return after a head injury, 3 January 2020",
            "Read on the federation's own page; it may have changed since",
            non_contact=Least(day=8),
            match=Least(day=23),
            below_age=19,
            medical_before=Step.MATCH,
            note="The text speaks of under 18 and over 18; at 18 the longer count is used here. A medical "
            "certificate goes to the league's medical commission.",
        ),
        Table(
            "ffr-adult",
            "ffr",
            "French federation, 19 and over, as changed since 2020",
            "Fédération Française de Rugby, change for players over 19",
            "Only read that the rule changed and that the licence stays blocked while any symptom remains; the new "
            "days could not be read",
            match=Least(clear=0),
            from_age=19,
            medical_before=Step.MATCH,
            note="A medical certificate goes to the league's medical commission.",
        ),
        Table(
            "ffr-2020-adult",
            "ffr",
            "French federation, text of January 2020, over 18 (replaced)",
            "Fédération Française de Rugby, return after a head injury, 3 January 2020",
            "Read on the federation's own page; replaced since for players over 19",
            non_contact=Least(day=3),
            match=Least(day=11),
            from_age=19,
            medical_before=Step.MATCH,
            offered=False,
        ),
        Table(
            "world-rugby-elite",
            "world-rugby-elite",
            "World Rugby, elite game, most players",
            "World Rugby, elite concussion process from 1 July 2022",
            "Read in press reports only",
            match=Least(day=12),
            from_age=19,
            note="Sooner only after an independent specialist's review; a matter for an elite squad's own doctors.",
            offered=False,
        ),
        WORLD_RUGBY,
        Table(
            "by-hand",
            "by-hand",
            "No table: each date is named by the person who treats",
            "no published day counts",
            "Nothing to verify: every step waits for a dated entry with a name",
            note="For anything that is not a head injury.",
        ),
    )
}

UNIONS: dict[str, str] = {
    "uk-grassroots": "Head injury: UK grassroots guidance (England and others; all ages)",
    "irfu": "Head injury: Irish union",
    "nzr": "Head injury: New Zealand",
    "ffr": "Head injury: French federation",
    "world-rugby": "Head injury: another union (World Rugby's least; the days you get from your union)",
    "by-hand": "Anything else: dates named by the person who treats",
}


def age_on(born: dt.date, day: dt.date) -> int:
    """Whole years. Who was born on 29 February grows older on 1 March where the year has no such day."""
    return day.year - born.year - ((day.month, day.day) < (born.month, born.day))


def table_for(union: str, born: dt.date | None, injured: dt.date) -> Table:
    """The union's table by the age on the day of the injury; without a date of birth the one for the youngest.

    Raises KeyError for a union without a table.
    """
    age = age_on(born, injured) if born else 0
    for table in TABLES.values():
        if table.union == union and table.offered and table.is_for(age):
            return table
    raise KeyError(union)
