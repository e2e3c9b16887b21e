"""How high the words of a drill card stand in type of a given size: reckoned line by line, as the template sets them.

All lengths in pt.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from drills.core.lines import Paragraph, Width, block, height, listed, paragraph, piled, run_on
from drills.core.paper import BETWEEN, BULLET_ROOM, DROP, ITEM_GAP, LEADING, MM, NUMBER_ROOM, RISE, RULES, Paper

WIDE = 1.5  # width to height from which a drawing may take more of the width of the card
NEVER_HIGHER = 0.33  # of the height of the card
HEADING = 1.2  # of the type that it stands in
WORTH_TWO_COLUMNS = 0.94  # of the size of cues in one column


@dataclass(frozen=True, slots=True)
class Fit:
    """Plain type of `size` pt, the first `count` extras, drawings at `scale` of their usual size.

    Facts and steps may stand beside a drawing, below it and to its left, or across the card.
    """

    size: float
    count: int
    scale: float = 1.0
    facts_beside: bool = True
    steps_beside: bool = True


class Reckoning:
    """The heights of everything on one card.

    `card` holds the card's words as the template gets them, `told` the words that stand on every card.
    """

    def __init__(self, card: Mapping[str, Any], told: Mapping[str, Any], on: Paper, width: Width) -> None:
        self.card, self.told, self.on, self.width = card, told, on, width
        self.extras: list[Mapping[str, Any]] = card["extras"]
        self.frames: list[Mapping[str, Any]] = card["frames"][: on.frames]

    def runs_over(self, fit: Fit) -> float:
        """By how much the card is too full; below 0 there is room."""
        return self.text(fit) + self.on.gap + self.foot(fit.count) - self.on.inner_height

    def text(self, fit: Fit) -> float:
        """From the upper edge of the name to the end of the last line above the foot."""
        return piled(self._parts(fit), self.on.gap)

    def layout(self, fit: Fit) -> dict[str, Any]:
        """What the template has to be told of the card's measures."""
        cue, left = self._cue_type(fit.size * self.on.key * self.on.cue)
        return {
            "size": fit.size,
            "count": fit.count,
            "cue": cue,
            "cues-left": left,
            "remarks-left": self._remarks_left(self._many("remarks", fit.count)),
            "facts-beside": fit.facts_beside,
            "steps-beside": fit.steps_beside,
            "frames": self.frames,
            "more-frames": len(self.card["frames"]) > len(self.frames),
            "frame-width": self._frame_width(fit.scale) if self.frames else 0,
        }

    def _parts(self, fit: Fit) -> Iterator[float]:
        size, key, inner = fit.size, fit.size * self.on.key, self.on.inner_width
        yield self._head
        yield self._night(size, key)
        yield from self._upper(fit, key)
        yield self._cues(key * self.on.cue)
        yield listed(self._faults[: self._many("faults", fit.count)], size, inner, self.width("✗", False) + BULLET_ROOM)
        yield self._remarks(size, self._many("remarks", fit.count))
        yield block(self._tail(fit.count), size, inner)
        yield self._safety(key)

    def _say(self, *runs: tuple[str, bool]) -> Paragraph:
        return paragraph(runs, self.width)

    def _pairs(self, pairs: Iterable[Sequence[str]]) -> Paragraph:
        """Label and text, label and text, in one paragraph."""
        runs: list[tuple[str, bool]] = []
        for label, text in pairs:
            runs += [("·", False)] if runs else []
            runs += [(label, True), (text, False)]
        return self._say(*runs)

    def _at(self, place: str) -> list[Mapping[str, Any]]:
        return [extra for extra in self.extras if extra["place"] == place]

    def _many(self, place: str, count: int) -> int:
        return sum(extra["place"] == place for extra in self.extras[:count])

    # The head of the card, and what is for tonight only

    @cached_property
    def _head(self) -> float:
        on, card = self.on, self.card
        rung = on.rung * max(0.85 + self.width(f" {card['rung']}", True), 0.8 * self.width(card["contact"], False))
        name = self._say((f"{card['number']}", True), (card["name"], True))
        room = on.inner_width - rung - 2 * MM - 0.4 * on.title
        right = on.rung * (1.8 * (RISE + DROP) + LEADING)
        return max(block(name, on.title, room), right) + 0.6 * on.gap

    @cached_property
    def _night_texts(self) -> list[Paragraph]:
        night = self.card["night"]
        where = self._say(*((f"{part} ·", place == 0) for place, part in enumerate(night["where"])))
        return [where, *(self._say((each["head"], True), *named(each["names"])) for each in night["who"])]

    def _night(self, size: float, key: float) -> float:
        if not self.card["night"]:
            return 0.0
        room = self.on.inner_width - 0.8 * size
        return 0.6 * size + piled((block(text, key, room) for text in self._night_texts), self.on.gap)

    # What it is, how it is set up and how it runs, with its drawings

    def _upper(self, fit: Fit, key: float) -> Iterator[float]:
        """One drawing stands beside the text; several stand in rows."""
        inner, beside = self.on.inner_width, len(self.frames) == 1
        if not (beside and fit.facts_beside):
            yield block(self._facts[self._many("facts", fit.count)], fit.size, inner)
        if beside:
            yield self._pair_of_columns(fit, key)
        else:
            yield from self._before(fit, key, inner)
            yield self._drawn(fit.scale) + self._notes(fit.size)
        if not (beside and fit.steps_beside):
            yield self._steps(key, inner)

    def _pair_of_columns(self, fit: Fit, key: float) -> float:
        column = self._frame_width(fit.scale)
        room = self.on.inner_width - column - 2.5 * MM
        left = [*self._before(fit, key, room), self._steps(key, room) if fit.steps_beside else 0.0]
        noted = self.frames[0]["note"] and not self.on.narrow
        note = block(self._captions[0], fit.size, column) if noted else 0.0
        facts = run_on(self._fact_lines(fit.count), fit.size, column) if fit.facts_beside else 0.0
        return max(piled(left, self.on.gap), piled([self._drawn(fit.scale), note, facts], self.on.gap))

    def _before(self, fit: Fit, key: float, room: float) -> Iterator[float]:
        purpose = self._tops[: self._many("top", fit.count)]
        yield from (block(text, fit.size, room) for text in purpose)
        yield block(self._set_up[self._many("set up", fit.count)], fit.size, room)
        yield block(self._go, key, room)

    def _steps(self, key: float, room: float) -> float:
        return listed(self._runs, key, room, self.width("8", True) + NUMBER_ROOM)

    @cached_property
    def _tops(self) -> list[Paragraph]:
        return [self._say((extra["text"], False)) for extra in self._at("top")]

    @cached_property
    def _facts(self) -> list[Paragraph]:
        return self._with_more(self.card["facts"], "facts")

    @cached_property
    def _set_up(self) -> list[Paragraph]:
        return self._with_more(self.card["set_up"], "set up")

    def _with_more(self, pairs: Sequence[Sequence[str]], place: str) -> list[Paragraph]:
        """The pairs without extras, with the first of them, and so on."""
        more = [(extra["label"], extra["text"]) for extra in self._at(place)]
        return [self._pairs([*pairs, *more[:many]]) for many in range(len(more) + 1)]

    @cached_property
    def _every_fact(self) -> list[Paragraph]:
        pairs = [*self.card["facts"], *((extra["label"], extra["text"]) for extra in self._at("facts"))]
        return [self._say((label, True), (text, False)) for label, text in pairs]

    def _fact_lines(self, count: int) -> list[Paragraph]:
        return self._every_fact[: len(self.card["facts"]) + self._many("facts", count)]

    @cached_property
    def _go(self) -> Paragraph:
        return self._pairs(self.card["go"])

    @cached_property
    def _runs(self) -> list[Paragraph]:
        return [self._say((step, False)) for step in self.card["runs"]]

    @property
    def _ratio(self) -> float:
        return float(self.frames[0]["ratio"])

    def _frame_width(self, scale: float) -> float:
        """Of each drawing, so that none is higher than a third of the card."""
        on, ratio = self.on, self._ratio
        highest = on.inner_height * NEVER_HIGHER * scale
        if len(self.frames) == 1:
            return min(on.inner_width * on.drawing * scale * (1.25 if ratio > WIDE else 1), highest * ratio)
        across = min(len(self.frames), on.row)
        return min(self._column(across), highest / self._rows * ratio)

    def _column(self, across: int) -> float:
        return (self.on.inner_width - (across - 1) * BETWEEN) / across

    @property
    def _rows(self) -> int:
        return -(-len(self.frames) // self.on.row)

    def _drawn(self, scale: float) -> float:
        if not self.frames:
            return 0.0
        return self._rows * self._frame_width(scale) / self._ratio + (self._rows - 1) * self.on.gap

    @cached_property
    def _captions(self) -> list[Paragraph]:
        return [self._say((frame["note"], False)) for frame in self.frames]

    def _notes(self, size: float) -> float:
        """The captions below several drawings, row by row."""
        across = min(len(self.frames), self.on.row)
        lines = [caption.lines(self._column(across) / size) for caption in self._captions]
        rows = [max(lines[first : first + across]) for first in range(0, len(lines), across or 1)]
        return sum(height(row, size) + 0.4 * size for row in rows if row)

    # What is said aloud, and what helps

    @cached_property
    def _cue_texts(self) -> list[Paragraph]:
        return [self._say((cue, True)) for cue in self.card["cues"]]

    def _cues(self, size: float) -> float:
        size, left = self._cue_type(size)
        if not left:
            return 0.6 * size + listed(self._cue_texts, size, self.on.inner_width, self._bullet)
        rows = -(-len(self._cue_texts) // 2)
        return 0.6 * size + rows * height(1, size) + (rows - 1) * ITEM_GAP * size

    @cached_property
    def _bullet(self) -> float:
        return self.width("•", True) + BULLET_ROOM

    @cached_property
    def _cue_widths(self) -> tuple[float, float]:
        """Of the longest cue in the left of two columns, and in the right."""
        half = -(-len(self._cue_texts) // 2)
        columns = self._cue_texts[:half], self._cue_texts[half:]
        left, right = (max((cue.length for cue in cues), default=0.0) + self._bullet + 0.1 for cues in columns)
        return left, right

    def _cue_type(self, size: float) -> tuple[float, float]:
        """The size of the cues and the width of the left of their two columns, 0 if they stand in one.

        Two columns are worth somewhat smaller type. The left one is half the card if that serves.
        """
        left, right = self._cue_widths
        room = self.on.inner_width - BETWEEN
        most = room / (left + right)
        if most < WORTH_TWO_COLUMNS * size:
            return size, 0.0
        size = min(size, most)
        return size, max(left * size, min(room / 2, room - right * size))

    @cached_property
    def _faults(self) -> list[Paragraph]:
        return [self._say((extra["text"], False), ("→", False), (extra["fix"], True)) for extra in self._at("faults")]

    @cached_property
    def _remark_texts(self) -> list[Paragraph]:
        return [self._say((extra["label"], True), (extra["text"], False)) for extra in self._at("remarks")]

    def _remarks_left(self, many: int) -> int:
        """How many of so many remarks stand in the left column: about half of their length; all on a narrow card."""
        if self.on.narrow:
            return many
        lengths = [text.length + 10 for text in self._remark_texts[:many]]
        run, left = 0.0, 0
        for length in lengths:
            if run + length / 2 > sum(lengths) / 2:
                break
            run, left = run + length, left + 1
        return left

    def _remarks(self, size: float, many: int) -> float:
        left, texts = self._remarks_left(many), self._remark_texts[:many]
        if left == many:
            return run_on(texts, size, self.on.inner_width)
        return max(run_on(column, size, self._column(2)) for column in (texts[:left], texts[left:]))

    def _tail(self, count: int) -> Paragraph:
        told = [extra for extra in self.extras[:count] if extra["place"] == "foot"]
        return self._pairs((extra["label"], extra["text"]) for extra in told)

    # The safety box

    @cached_property
    def _safety_texts(self) -> dict[str, list[Paragraph]]:
        box = self.card["safety"]
        notes = [self._say((note, False)) for note in box["notes"]]
        return {
            "stop": [self._say((box["stop"], True))],
            "items": [self._say((box["barred"], True)), *notes] if box["stop"] else notes,
            "rules": [self._say((" ".join(box["rules"]), False))],
            "check": [self._say((box["check"], False))],
            "defers": [self._say((box["defers"], True))],
        }

    def _safety(self, size: float) -> float:
        if not self.card["safety"]:
            return 0.0
        texts, room = self._safety_texts, self.on.inner_width - size
        mark = self.width("•", False) + BULLET_ROOM
        head = self.width(self.told["safety"], True) * HEADING + 0.8
        first = height(1, size * HEADING)
        if not self.card["safety"]["stop"]:
            return 0.8 * size + max(first, listed(texts["items"], size, room, mark + head))
        parts = [max(first, listed(texts["stop"], size, room, head)), listed(texts["items"], size, room, mark)]
        parts += [listed(texts[name], size * RULES, room) for name in ("rules", "check", "defers")]
        rule = 0.3 * size if self.card["safety"]["check"] else 0.0
        return 0.8 * size + piled(parts, 0.3 * size) + rule

    # The foot

    def foot(self, count: int) -> float:
        """The height of what stands at the foot of the card."""
        on, room = self.on, self.on.inner_width - self.on.code - 2 * MM
        texts = run_on((*self._foot_texts, self._left_out(count)), on.foot, room)
        return max(on.code, texts) + 0.9 * MM

    @cached_property
    def _foot_texts(self) -> list[Paragraph]:
        card = self.card
        ladder = self._say(*((step, place == 0) for place, step in enumerate(card["ladder"])))
        return [self._say((line, False)) for line in (self.told["really"], card["version"], card["address"])] + [ladder]

    def _left_out(self, count: int) -> Paragraph:
        called = [extra["called"] for extra in self.extras[count:]]
        if len(self.card["frames"]) > len(self.frames):
            called.insert(0, self.told["frames"])
        if not called:
            return Paragraph(())
        named = f"99 {self.told['lines']}" if self.on.narrow else ", ".join(dict.fromkeys(called))
        return self._say((self.told["elsewhere"], True), (named, False))


def named(names: Iterable[tuple[str, bool]]) -> Iterator[tuple[str, bool]]:
    """Names in a row, with the mark of who may do no contact; plain type."""
    return ((f"{name}{' NC_' if nc else ''},", False) for name, nc in names)
