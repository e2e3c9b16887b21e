"""What an import would do, row by row, before anything is written."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from enum import StrEnum

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _


class State(StrEnum):
    NEW = "new"
    CHANGED = "changed"
    SAME = "same"
    REFUSED = "refused"

    @property
    def word(self) -> Promise:
        return WORDS[self]

    @property
    def mark(self) -> str:
        return MARKS[self]


WORDS = {State.NEW: _("new"), State.CHANGED: _("changed"), State.SAME: _("same"), State.REFUSED: _("refused")}
MARKS = {State.NEW: "+", State.CHANGED: "~", State.SAME: "=", State.REFUSED: "✗"}


@dataclass(frozen=True, slots=True)
class Change:
    """One field that would change, in the words of the page. `old` is empty on something new."""

    field: str
    old: str
    new: str

    def __str__(self) -> str:
        return f"{self.field}: {self.old or '–'} → {self.new or '–'}"


@dataclass(frozen=True, slots=True)
class Line:
    """What becomes of one row. A refused line names its reason, and the column if one is to blame."""

    where: str
    label: str
    state: State
    changes: tuple[Change, ...] = ()
    column: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Preview:
    """Lines in the order of the file; `left_alone` names what is known but not in it; `origin` how it was read."""

    lines: tuple[Line, ...]
    left_alone: tuple[str, ...] = ()
    origin: str = ""

    def count(self, state: State) -> int:
        return sum(line.state == state for line in self.lines)

    @property
    def counts(self) -> list[tuple[State, int]]:
        return [(state, self.count(state)) for state in State]

    @property
    def told(self) -> str:
        """How many lines were of which state, in words."""
        return ", ".join(f"{count} {state.word}" for state, count in self.counts)

    @property
    def nothing_to_do(self) -> bool:
        return not any(line.state in (State.NEW, State.CHANGED) for line in self.lines)

    @property
    def has_refused(self) -> bool:
        return self.count(State.REFUSED) > 0

    @property
    def fingerprint(self) -> str:
        """Tells whether a preview still says what its reader saw when asked to confirm it."""
        return hashlib.sha256(repr(self.lines).encode()).hexdigest()[:16]


class RowRefused(Exception):
    """A row that cannot be taken: the field to blame ("" for the whole row) and the reason."""

    def __init__(self, column: str, reason: str) -> None:
        super().__init__(reason)
        self.column, self.reason = column, reason


class Outdated(Exception):
    """What was to be confirmed is no longer what confirming would do; `preview` is how it stands now."""

    def __init__(self, preview: Preview) -> None:
        super().__init__()
        self.preview = preview

    def __str__(self) -> str:
        return gettext("Somebody changed these entries since this preview. Nothing was written: look through it again.")


def in_plain_text(preview: Preview) -> str:
    """The preview for a terminal: one line a row that does something, then the counts."""
    lines = [line_in_plain_text(line) for line in preview.lines if line.state != State.SAME]
    left = [f"{_('not in the file, left alone')}: {', '.join(preview.left_alone)}"] if preview.left_alone else []
    return "\n".join([*lines, *left, preview.told])


def line_in_plain_text(line: Line) -> str:
    column = f" [{line.column}]" if line.column else ""
    told = line.reason or "; ".join(
        f"{change.field}: {change.new}" if line.state is State.NEW else str(change) for change in line.changes
    )
    return f"{line.state.mark} {line.where}: {line.label}, {line.state.word}{column}{': ' if told else ''}{told}"
