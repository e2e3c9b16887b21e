"""The text of an iCalendar file: unfolded lines with their numbers, and the events and zones they make up.

Reading the frame ourselves keeps one broken event from spoiling the rest, and gives every complaint a line.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from shared.cells import MOST_BYTES, Unreadable

MOST_EVENTS = 2_000
KEPT = ("VEVENT", "VTIMEZONE")
LINE_BREAK = re.compile(rb"\r\n|\n|\r")
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
UTF16_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


@dataclass(frozen=True, slots=True)
class ContentLine:
    """An unfolded line, with the number of the line of the file on which it begins."""

    number: int
    text: str

    @property
    def name(self) -> str:
        return re.split("[:;]", self.text, maxsplit=1)[0].strip().upper()

    @property
    def value(self) -> str:
        return self.text.partition(":")[2].strip()


@dataclass(frozen=True, slots=True)
class Component:
    """A VEVENT or VTIMEZONE from its BEGIN on; an event without the alarms nested in it."""

    kind: str
    number: int
    lines: list[ContentLine] = field(default_factory=list)

    def first(self, name: str) -> str:
        return next((line.value for line in self.lines if line.name == name), "")


@dataclass(slots=True)
class CalendarText:
    """One VCALENDAR."""

    method: str = ""
    version: str = ""
    zone: str = ""  # X-WR-TIMEZONE, which many programs write though no standard knows it
    components: list[Component] = field(default_factory=list)

    def of(self, kind: str) -> list[Component]:
        return [component for component in self.components if component.kind == kind]


@dataclass(slots=True)
class Frame:
    """Follows BEGIN and END through a file."""

    filename: str
    calendars: list[CalendarText] = field(default_factory=list)
    open: list[tuple[str, int]] = field(default_factory=list)
    component: Component | None = None

    def take(self, line: ContentLine) -> None:
        if line.name == "BEGIN":
            self.begin(line.value.upper(), line)
        elif line.name == "END":
            self.end(line.value.upper(), line)
        elif self.component is not None:
            self.keep(line)
        elif len(self.open) == 1:
            self.tell(self.calendars[-1], line)

    def tell(self, calendar: CalendarText, line: ContentLine) -> None:
        if line.name == "METHOD":
            calendar.method = line.value.upper()
        elif line.name == "VERSION":
            calendar.version = line.value
        elif line.name == "X-WR-TIMEZONE":
            calendar.zone = line.value

    def begin(self, kind: str, line: ContentLine) -> None:
        if kind == "VCALENDAR" and not self.open:
            self.calendars.append(CalendarText())
        elif not self.open:
            self.complain(line.number, _("BEGIN:%(kind)s stands outside a calendar") % {"kind": kind[:40]})
        self.open.append((kind, line.number))
        if self.component is not None:
            self.keep(line)
        elif len(self.open) == 2 and kind in KEPT:
            self.component = Component(kind, line.number)
            self.calendars[-1].components.append(self.component)

    def end(self, kind: str, line: ContentLine) -> None:
        if not self.open or self.open[-1][0] != kind:
            self.complain(line.number, _("END:%(kind)s closes nothing that is open here") % {"kind": kind[:40]})
        if self.component is not None and len(self.open) > 2:
            self.keep(line)
        self.open.pop()
        if len(self.open) == 1:
            self.component = None

    def keep(self, line: ContentLine) -> None:
        """The parts of a zone belong to it; what is nested in an event is of no interest."""
        if self.component.kind == "VTIMEZONE" or len(self.open) == 2:
            self.component.lines.append(line)

    def finish(self) -> None:
        if self.open:
            kind, number = self.open[-1]
            self.complain(number, _("%(kind)s begins here and never ends; the file is cut off") % {"kind": kind[:40]})

    def complain(self, number: int, what: str) -> None:
        raise Unreadable(
            _("“%(file)s”, line %(line)d: %(what)s. Fetch or export the calendar again.")
            % {"file": self.filename, "line": number, "what": what}
        )


def calendars_in(content: bytes, filename: str) -> tuple[list[CalendarText], str]:
    """The calendars of a file and the name of its encoding. Raises Unreadable."""
    refuse_size(content, filename)
    lines, encoding = content_lines(content)
    refuse_other_kinds(lines, filename)
    frame = Frame(filename)
    for line in lines:
        frame.take(line)
    frame.finish()
    refuse_calendars(frame.calendars, filename)
    return frame.calendars, encoding


def refuse_size(content: bytes, filename: str) -> None:
    if not content.strip():
        raise Unreadable(_("“%(file)s” is empty. Choose the file with your fixtures.") % {"file": filename})
    if len(content) > MOST_BYTES:
        raise Unreadable(
            _("“%(file)s” is larger than %(most).1f MB. Export the fixtures of one season only.")
            % {"file": filename, "most": MOST_BYTES / 1_000_000}
        )


def refuse_other_kinds(lines: list[ContentLine], filename: str) -> None:
    first = lines[0] if lines else ContentLine(1, "")
    if (first.name, first.value.upper()) != ("BEGIN", "VCALENDAR"):
        raise Unreadable(
            _("“%(file)s” is no calendar: line %(line)d is “%(text)s”, not BEGIN:VCALENDAR.")
            % {"file": filename, "line": first.number, "text": first.text[:40]}
        )


def refuse_calendars(calendars: list[CalendarText], filename: str) -> None:
    if any(calendar.version == "1.0" for calendar in calendars):
        raise Unreadable(
            _("“%(file)s” is a calendar of the old version 1.0. Export it as iCalendar (version 2.0).")
            % {"file": filename}
        )
    count = sum(len(calendar.of("VEVENT")) for calendar in calendars)
    if count == 0:
        raise Unreadable(_("“%(file)s” is a calendar without events.") % {"file": filename})
    if count > MOST_EVENTS:
        raise Unreadable(
            _("“%(file)s” holds %(count)d events; %(most)d is the most. Export one season or one team only.")
            % {"file": filename, "count": count, "most": MOST_EVENTS}
        )


def content_lines(content: bytes) -> tuple[list[ContentLine], str]:
    """Lines unfolded by RFC 5545, 3.1, each decoded by itself: a file may be put together from two encodings.

    Unfolding bytes before decoding mends files whose writer folded in the middle of a letter.
    """
    if content.startswith(UTF16_MARKS):
        content, encodings = content.decode("utf-16", errors="replace").encode(), {"UTF-16"}
    else:
        content, encodings = content.removeprefix(codecs.BOM_UTF8), set()
    lines = []
    for number, raw in unfolded(content):
        text, encoding = decoded(raw)
        encodings.add(encoding)
        lines.append(ContentLine(number, CONTROL.sub("", text)))
    name = next(name for name in ("UTF-16", "Windows-1252", "UTF-8") if name in (encodings or {"UTF-8"}))
    return lines, name


def unfolded(content: bytes) -> Iterator[tuple[int, bytes]]:
    number, parts = 0, []
    for count, raw in enumerate(LINE_BREAK.split(content), start=1):
        if raw[:1] in (b" ", b"\t") and parts:
            parts.append(raw[1:])
        elif raw.strip():
            if parts:
                yield number, b"".join(parts)
            number, parts = count, [raw]
    if parts:
        yield number, b"".join(parts)


def decoded(raw: bytes) -> tuple[str, str]:
    try:
        return raw.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace"), "Windows-1252"
