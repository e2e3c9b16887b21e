"""What the page of the board shows: the drawing, the verdicts in words, margins, meetings, swing and advice."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drills import board_words as words
from drills.board_fields import ShownForm
from drills.board_form import BoardForm
from drills.core.board.answer import counsel, judgement
from drills.core.board.as_diagram import View, around, as_diagram, window
from drills.core.board.picture import HALVES, Picture, picture
from drills.core.board.scene import Scene
from drills.core.board.swing import Instant, instants
from drills.core.diagram import NOTE_LENGTH, written
from drills.core.draw import sheet, svg
from drills.core.inkbox import inkbox
from shared.charts import plumb_bar

STATES = ("broken", "near", "holds", "not_asked")  # the worst first


@dataclass(frozen=True)
class Rule:
    """One rule in words. `found`: all that was measured, each with its mark."""

    rule: str
    state: str
    mark: str
    word: str
    name: str
    why: str
    found: tuple[tuple[str, str, str], ...]  # state, mark, words

    @property
    def said(self) -> str:
        """ "P2 near wing up, full back behind him: broken. 15: depth 9.0 m, wanted 18.0 to 25.0 m" """
        wrong = [told for state, _mark, told in self.found if state in ("near", "broken")]
        return ". ".join([f"{self.rule} {self.name}: {self.word}", *wrong[:2]])


def rules_of(answer: dict[str, Any]) -> list[Rule]:
    return [
        Rule(
            rule=each["rule"],
            state=each["state"],
            mark=words.MARKS[each["state"]],
            word=str(words.STATES[each["state"]]),
            name=str(words.RULES[each["rule"]]),
            why=str(words.WHY_NOT[each["why_not"]]) if each["why_not"] else "",
            found=tuple((f["state"], words.MARKS[f["state"]], words.finding_words(f)) for f in each["findings"]),
        )
        for each in answer["rules"]
    ]


def note_of(rules: list[Rule], before: str = "") -> str:
    """What a frame on a card says of its scene: which rules do not hold, by name, as far as the line is long."""
    parts = [before] if before else []
    for state in ("broken", "near"):
        names = [rule.name for rule in rules if rule.state == state]
        parts += [f"{NOTED[state]()} {', '.join(names)}"] if names else []
    if not any(rule.state in NOTED for rule in rules):
        parts.append(_("Every rule that is asked holds"))
    whole = ". ".join(parts) + "."
    return whole if len(whole) <= NOTE_LENGTH else shortened(whole)


def shortened(words: str) -> str:
    """Up to the last whole word that fits a note."""
    return words[: NOTE_LENGTH - 1].rsplit(" ", 1)[0].rstrip(",.:") + "…"


NOTED = {"broken": lambda: _("Broken:"), "near": lambda: _("Nearly:")}


def by_state(rules: list[Rule]) -> list[tuple[str, str, list[Rule]]]:
    """The worst first, with a heading for each state that there is."""
    found = [(state, [rule for rule in rules if rule.state == state]) for state in STATES]
    return [(state, heading(state, len(some)), some) for state, some in found if some]


def heading(state: str, n: int) -> str:
    told = {
        "broken": ngettext("%d rule is broken", "%d rules are broken", n),
        "near": ngettext("%d nearly holds", "%d nearly hold", n),
        "holds": ngettext("%d holds", "%d hold", n),
        "not_asked": ngettext("%d is not asked here", "%d are not asked here", n),
    }
    return told[state] % n


@dataclass(frozen=True)
class Margin:
    """One kick: where it comes down, who is there first, and the seconds that he has in hand."""

    name: str
    where: str
    who: int
    air: str
    needs: str
    margin: str
    state: str
    mark: str
    word: str
    bar: SafeString


def margins_of(scene: Scene, answer: dict[str, Any]) -> Iterator[Margin]:
    for each in answer["margins"]:
        needs, air = each["seconds"] - each["margin"], each["seconds"]
        state = (
            "holds"
            if each["margin"] >= 0
            else "near"
            if each["margin"] >= -scene.book.margin_slack_seconds
            else "broken"
        )
        title = _("needs %(needs)s, the ball takes %(air)s") % {
            "needs": words.measured(needs, "s"), "air": words.measured(air, "s")
        }  # fmt: skip
        yield Margin(
            name=each["kick"],
            where=place_words(scene, each["x"], each["y"]),
            who=each["who"],
            air=words.measured(air, "s"),
            needs=words.measured(needs, "s"),
            margin=signed(each["margin"]),
            state=state,
            mark=words.MARKS[state],
            word=str(COVERED[state]()),
            bar=plumb_bar(needs, air, title),
        )


COVERED = {"holds": lambda: _("in time"), "near": lambda: _("nearly in time"), "broken": lambda: _("too late")}


def signed(seconds: float) -> str:
    return ("+" if seconds > 0 else "") + words.measured(seconds, "s")


def place_words(scene: Scene, x: float, y: float) -> str:
    depth = scene.line - y
    told = {"x": words.measured(x, "m"), "depth": words.measured(abs(depth), "m")}
    return (
        _("%(x)s from the left, %(depth)s deep") if depth >= 0 else _("%(x)s from the left, %(depth)s beyond the line")
    ) % told


@dataclass(frozen=True)
class Step:
    """One moment of a swing: the drawing, and what it says of the back field."""

    number: int
    title: str
    drawing: SafeString
    late: str
    rules: list[Rule]
    kept: int  # rules that hold


def step_of(n: int, instant: Instant) -> Step:
    asked = [rule for rule in rules_of(judgement(instant.scene)) if rule.rule[0] in "PH" and rule.state != "not_asked"]
    wrong = [rule for rule in asked if rule.state != "holds"]
    drawn = picture(instant.scene).svg(ident=f"swing-{n}")
    late = _("Not there yet: %s") % ", ".join(map(str, instant.late)) if instant.late else _("Everybody is there.")
    return Step(n, moment_words(n, instant.seconds), mark_safe(drawn), late, wrong, len(asked) - len(wrong))


def moment_words(n: int, seconds: float) -> str:
    return _("Now") if n == 1 else _("After %s") % words.measured(seconds, "s")


@dataclass(frozen=True)
class Advised:
    """Who should be where, and what it costs."""

    key: str
    title: str
    moves: list[str]
    costs: list[str]
    scene: Scene
    places: str  # JSON: number, metres from the left, depth


def advised(scene: Scene) -> list[Advised]:
    """The places with the best worst margin, then, if a rule stays broken there, those that mend the rules."""
    told = counsel(scene)
    titles = {
        "advice": _("Best worst margin, no rule more broken"),
        "by_the_rules": _("To mend the rules, whatever it costs"),
    }
    return [one_advice(scene, key, title, told[key]) for key, title in titles.items() if told[key] is not None]


def one_advice(scene: Scene, key: str, title: str, told: dict[str, Any]) -> Advised:
    moves = told["moves"]
    after = scene.with_places((move["who"], (move["to"]["x"], move["to"]["y"])) for move in moves)
    places = [[move["who"], move["to"]["x"], round(scene.line - move["to"]["y"], 2)] for move in moves]
    return Advised(key, title, [move_words(scene, m) for m in moves], costs(told), after, json.dumps(places))


def move_words(scene: Scene, move: dict[str, Any]) -> str:
    return _("%(who)s goes %(metres)s, to %(place)s") % {
        "who": move["who"],
        "metres": words.measured(move["metres"], "m"),
        "place": place_words(scene, move["to"]["x"], move["to"]["y"]),
    }


def costs(advice: dict[str, Any]) -> list[str]:
    told = _("%(kick)s: %(after)s in hand in place of %(before)s")
    return [
        told % {"kick": c["kick"], "before": signed(c["before"]), "after": signed(c["after"])} for c in advice["costs"]
    ]


@dataclass
class BoardPage:
    """Everything of one scene. Costly parts are made when they are asked for."""

    form: BoardForm
    shown: ShownForm
    scene: Scene

    @cached_property
    def answer(self) -> dict[str, Any]:
        return judgement(self.scene)

    @cached_property
    def rules(self) -> list[Rule]:
        return rules_of(self.answer)

    @cached_property
    def groups(self) -> list[tuple[str, str, list[Rule]]]:
        return by_state(self.rules)

    @cached_property
    def head(self) -> str:
        side, zone = words.SIDES[self.answer["side"]], self.answer["zone"]
        return _("Ball %(side)s, zone %(zone)s: %(name)s.") % {"side": side, "zone": zone, "name": words.ZONES[zone]}

    @cached_property
    def margins(self) -> list[Margin]:
        return list(margins_of(self.scene, self.answer))

    @property
    def runners(self) -> list[tuple[str, list[str]]]:
        return [(each["name"], list(map(words.meeting_words, each["meetings"]))) for each in self.answer["carriers"]]

    @cached_property
    def moments(self) -> tuple[Instant, ...]:
        """Those of the swing; none without one."""
        return instants(self.scene)

    @cached_property
    def swing(self) -> list[Step]:
        return [step_of(n, instant) for n, instant in enumerate(self.moments, 1)]

    def _chosen(self, name: str, default: str) -> str:
        return self.shown.cleaned_data.get(name) or default if self.shown.is_valid() else default

    @cached_property
    def picture(self) -> Picture:
        return picture(self.scene, View(self._chosen("view", View.WIDE)), self._chosen("kind", ""))

    @property
    def drawing(self) -> SafeString:
        return mark_safe(self.picture.svg(ident="board"))

    @property
    def plain_drawing(self) -> SafeString:
        """For paper: without the map, each kick as a flight."""
        diagram = as_diagram((self.scene,), window(self.scene), flights=True)
        return mark_safe(svg(diagram, on=sheet(diagram, HALVES), ident="board"))

    @property
    def drawn(self) -> dict[str, Any]:
        """What the page's script draws: the diagram, what lies under it, and the swing to play."""
        return self.drawn_while_held | {"swing": self.swung}

    @property
    def drawn_while_held(self) -> dict[str, Any]:
        """Without the swing, which is not shown before a man is let go."""
        shown = {"diagram": written(self.picture.diagram), "under": self.picture.under}
        return shown | {"said": {rule.rule: [rule.state, rule.said] for rule in self.rules}}

    @property
    def frames(self) -> tuple[list[Scene], list[str]]:
        """What goes on a card: the scene, or each moment of its swing, and what it says in a line."""
        if not self.moments:
            return [self.scene], [note_of(self.rules)]
        return [each.scene for each in self.moments], [note_of(step.rules, step.title) for step in self.swing]

    @property
    def swung(self) -> dict[str, Any] | None:
        """The moments of the swing as frames to play."""
        if not self.moments:
            return None
        notes = tuple(f"{step.title}. {step.late}" for step in self.swing)
        scenes = tuple(each.scene for each in self.moments)
        return written(as_diagram(scenes, around(scenes), notes))


def ink() -> dict[str, Any]:
    """The signs of a diagram, with men as small as the board draws them."""
    box = inkbox()
    return box | {"sizes": box["sizes"] | {"LEAST_HALF": HALVES[0], "MOST_HALF": HALVES[1]}}
