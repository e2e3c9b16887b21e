"""The form of all replies: what was typed into each cell against what its page showed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.db.models import TextChoices
from django.http import QueryDict
from django.utils.dateparse import parse_time
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.attendance import Key
from planner.attendance_actions import Said, why_not
from planner.attendance_models import Reply
from planner.models import Session
from planner.replies import Cell
from squads.models import Player


class Says(TextChoices):
    """What can be chosen of a night; the times of IN_PART stand beside it."""

    YES = "yes", gettext_lazy("yes")
    NO = "no", gettext_lazy("no")
    IN_PART = "part", gettext_lazy("part of it")


@dataclass(frozen=True, slots=True)
class Entry:
    """One cell as it was typed; times are texts until they are read."""

    says: str = ""
    comes_at: str = ""
    leaves_at: str = ""

    @classmethod
    def of(cls, reply: Reply | None) -> Entry:
        if reply is None:
            return cls()
        if reply.from_time or reply.until_time:
            return cls(Says.IN_PART, *(f"{at:%H:%M}" if at else "" for at in (reply.from_time, reply.until_time)))
        return cls(Says.YES if reply.coming else Says.NO)

    @classmethod
    def typed(cls, given: QueryDict, name: str) -> Entry:
        says = given.get(f"says-{name}", "")
        if says != Says.IN_PART:
            return cls(says)  # times that stand beside a yes or a no were left behind
        return cls(says, *(given.get(f"{word}-{name}", "").strip() for word in ("from", "until")))


class Unclear(Exception):
    """What was typed says nothing; the text tells how to mend it."""


def said_in(entry: Entry, player: Player, session: Session, answers: int | None) -> Said:
    """Raises Unclear."""
    if entry.says not in Says.values:
        raise Unclear(_("Choose yes, no or part of it."))
    times = time_in(entry.comes_at), time_in(entry.leaves_at)
    if entry.says == Says.IN_PART and not any(times):
        raise Unclear(_("Give a time: from when, or until when."))
    return Said(player, session, entry.says != Says.NO, *times, answers=answers)


def time_in(text: str) -> dt.time | None:
    try:
        found = parse_time(text) if text else None
    except ValueError:
        found = None
    if text and (found is None or found.tzinfo):
        raise Unclear(_("“%(text)s” is no time. Write it like 19:40.") % {"text": text[:20]})
    return found and found.replace(second=0, microsecond=0)


@dataclass
class ReplyForm:
    """`said` is what differs from what the page showed; `problems` what stands against it, cell by cell.

    `shown`: keys of the replies that the page showed. Replies are never changed, so a cell that still says what its
    reply said was left alone, whatever somebody else has said of it since. `unseen`: cells that were not saved,
    because somebody else said something of them meanwhile.
    """

    shown: str = ""
    said: list[Said] = field(default_factory=list)
    typed: dict[Key, Entry] = field(default_factory=dict)
    problems: dict[Key, str] = field(default_factory=dict)
    unseen: set[Key] = field(default_factory=set)

    @classmethod
    def read(cls, given: QueryDict, cells: list[Cell], today: dt.date) -> ReplyForm:
        form = cls(given.get("shown", ""))
        shown = replies_shown(form.shown, cells)
        for cell in cells:
            if f"says-{cell.name}" in given:
                form.read_cell(Entry.typed(given, cell.name), cell, shown.get(cell.key), today)
        return form

    def read_cell(self, entry: Entry, cell: Cell, before: Reply | None, today: dt.date) -> None:
        if entry == Entry.of(before):
            return
        self.typed[cell.key] = entry
        try:
            said = said_in(entry, cell.player, cell.session, before.pk if before else 0)
        except Unclear as problem:
            self.problems[cell.key] = str(problem)
            return
        self.said.append(said)
        if reason := why_not(said, today):
            self.problems[cell.key] = reason

    def keep_only(self, unseen: set[Key]) -> None:
        """The other cells are saved."""
        self.unseen = unseen
        self.typed = {key: entry for key, entry in self.typed.items() if key in unseen}


def replies_shown(text: str, cells: list[Cell]) -> Mapping[Key, Reply]:
    """The replies whose keys the page had; one that is none of these cells says nothing."""
    keys = [int(word) for word in text.split() if word.isascii() and word.isdecimal() and len(word) < 19]
    known = {cell.key for cell in cells}
    rows = Reply.objects.filter(pk__in=keys) if keys else ()
    return {key: row for row in rows if (key := (row.player_id, row.session_id)) in known}
