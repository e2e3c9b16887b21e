"""The earliest days of a graded return, from a union's table and from what was entered since.

A day that has passed is necessary and never sufficient: nothing here says that a player is well. A named person
decides that, and this arithmetic only says which decisions would come too soon. Days only move later, unless a
medical entry with a name moves them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shared.core.contact import Level
from squads.core.spoken import days, spoken
from squads.core.union_tables import NOT_STATED, WORLD_RUGBY, Step, Table

ONE_DAY = dt.timedelta(days=1)
SYMPTOMS_GO_ON = "no day yet: it is not entered since when there are no symptoms at rest"


@dataclass(frozen=True, slots=True)
class SymptomFree:
    """`day` is the first one without symptoms at rest."""

    day: dt.date


@dataclass(frozen=True, slots=True)
class Symptoms:
    """There were symptoms again on `day`. Suspected ones count as certain."""

    day: dt.date


@dataclass(frozen=True, slots=True)
class Allowed:
    """A medical entry of `day`: a named person allows a step from `from_day` on, sooner or later than the table."""

    day: dt.date
    step: Step
    from_day: dt.date
    by: str
    role: str


Event = SymptomFree | Symptoms | Allowed


@dataclass(frozen=True, slots=True)
class Earliest:
    """The first day on which a person may allow a step, and why not sooner. `day` None: there is none yet."""

    day: dt.date | None
    reason: str

    @property
    def order(self) -> dt.date:
        """No day is later than every day."""
        return self.day or dt.date.max


Dates = Mapping[Step, Earliest]


def rule_of(table: Table) -> Table:
    """The stricter of the union's table and what the federation asks everywhere; dates by hand know neither."""
    return table if table.key == "by-hand" else table.with_stricter(WORLD_RUGBY)


def next_dates(table: Table, injured: dt.date, events: Iterable[Event] = ()) -> Dates:
    """The earliest day of each step; `events` stand in the order in which they were entered.

    Symptoms close every step that asks for their end, and undo what a medical entry had allowed sooner. A day
    without symptoms that lies before one entered already changes nothing.
    """
    rule = rule_of(table)
    free, last_symptoms = None, None
    dates = floors(rule, injured, None)
    for event in events:
        match event:
            case Symptoms(day):
                free, last_symptoms = None, max(day, last_symptoms or day)
                dates = later(dates, floors(rule, injured, None))
            case SymptomFree(day) if free is None or day > free:
                free = max(day, injured, *([last_symptoms + ONE_DAY] if last_symptoms else []))
                dates = later(dates, floors(rule, injured, free))
            case Allowed():
                dates = moved(dates, event)
    return {step: found if free or not waits(rule, step) else closed() for step, found in dates.items()}


def closed() -> Earliest:
    return Earliest(None, SYMPTOMS_GO_ON)


def waits(rule: Table, step: Step) -> bool:
    """The step asks that symptoms are over."""
    return rule.least(step).clear is not None


def floors(rule: Table, injured: dt.date, free: dt.date | None) -> dict[Step, Earliest]:
    """By the table alone. A step that it does not date has no day; the steps after it keep their own."""
    found: dict[Step, Earliest] = {}
    stated: list[Step] = []
    for step in Step:
        if rule.least(step).day is None:
            found[step] = Earliest(None, NOT_STATED)
            continue
        before = after_step(rule, stated[-1], step, found[stated[-1]]) if stated else []
        found[step] = max([*by_days(rule, step, injured, free), *before], key=lambda each: each.order)
        stated.append(step)
    return found


def by_days(rule: Table, step: Step, injured: dt.date, free: dt.date | None) -> list[Earliest]:
    least = rule.least(step)
    found = []
    if least.day is not None:
        found.append(
            Earliest(injured + least.day * ONE_DAY, f"not before Day {least.day} after {spoken(injured, injured)}")
        )
    if least.clear is not None and free is not None:
        without = f"{days(least.clear)} without symptoms" if least.clear else "no symptoms at rest"
        found.append(Earliest(free + least.clear * ONE_DAY, f"{without} from {spoken(free, injured)}"))
    return found


def after_step(rule: Table, before: Step, step: Step, found: Earliest) -> list[Earliest]:
    """Each step takes its time, also one that the table does not date."""
    gap = (step.place - before.place) * rule.step_days
    return [Earliest(found.day + gap * ONE_DAY, f"{days(gap)} after the step before")] if found.day else []


def later(dates: Dates, others: Dates) -> dict[Step, Earliest]:
    return {step: max(dates[step], others[step], key=lambda each: each.order) for step in Step}


def moved(dates: Dates, entry: Allowed) -> dict[Step, Earliest]:
    """The step on its new day, those before it at the latest then, those after it not before.

    A step that the table does not date gets that day too; then none after it may come sooner.
    """
    put = Earliest(entry.from_day, f"allowed by {entry.by}, {entry.role}, on {spoken(entry.day, entry.from_day)}")
    found: dict[Step, Earliest] = {}
    before = None
    for step in Step:
        nearer = min if step.place < entry.step.place else max
        own = put if step is entry.step else nearer(dates[step], put, key=lambda each: each.order)
        found[step] = before = max(own, before, key=lambda each: each.order) if before else own
    return found


@dataclass(frozen=True, slots=True)
class Course:
    """One return to training: by which table, since when, what was entered, and the day on which it was closed."""

    table: Table
    injured: dt.date
    events: tuple[Event, ...] = ()
    closed: dt.date | None = None

    @property
    def dates(self) -> Dates:
        return next_dates(self.table, self.injured, self.events)

    def dates_on(self, day: dt.date) -> Dates:
        """As they stood by what had happened until then: symptoms of a later day did not close an earlier one."""
        return next_dates(self.table, self.injured, [event for event in self.events if event.day <= day])

    def runs_on(self, day: dt.date) -> bool:
        return self.injured <= day and (self.closed is None or day < self.closed)

    def most_on(self, day: dt.date) -> Level:
        """The most that the dates let anybody decide for that day; all work where the return does not run."""
        if not self.runs_on(day):
            return Level.FULL
        dates = self.dates_on(day)
        if day < dates[Step.NON_CONTACT].order:
            return Level.ABSENT
        return Level.NONE if day < dates[Step.CONTACT].order else Level.FULL

    @property
    def is_free(self) -> bool:
        """The last that was told is a day from which on there are no symptoms at rest."""
        told = [event for event in self.events if not isinstance(event, Allowed)]
        return bool(told) and isinstance(told[-1], SymptomFree)

    def symptoms_last(self, day: dt.date) -> bool:
        """So long that the table wants a doctor to look again."""
        after = rule_of(self.table).doctor_after
        return after is not None and not self.is_free and self.runs_on(day) and (day - self.injured).days > after


def step_of(level: Level) -> Step | None:
    """The step that a decision for a level takes; None for "out"."""
    return {Level.NONE: Step.NON_CONTACT, Level.CONTROLLED: Step.CONTACT, Level.FULL: Step.CONTACT}.get(level)
