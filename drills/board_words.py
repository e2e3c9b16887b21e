"""What the board says of a scene, in words: rules, what was measured, margins, meetings, advice."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext

RULES = {
    "P1": gettext_lazy("enough players deep"),
    "P2": gettext_lazy("near wing up, full back behind him"),
    "P3": gettext_lazy("far wing in and deep"),
    "P4": gettext_lazy("ball in the middle: full back central, wings level"),
    "P5": gettext_lazy("back three connected"),
    "P6": gettext_lazy("never flat"),
    "P7": gettext_lazy("swing in time"),
    "P8": gettext_lazy("every kick covered"),
    "H1": gettext_lazy("one man sweeps behind the ruck"),
    "H2": gettext_lazy("half-back in the line when he is needed there"),
    "H3": gettext_lazy("full back lifts while the half-back is in the line"),
    "H4": gettext_lazy("half-back soon back in the sweep"),
    "H5": gettext_lazy("two sweepers apart, and never none"),
    "R1": gettext_lazy("a guard each side"),
    "R2": gettext_lazy("bodyguards"),
    "R3": gettext_lazy("third man on the open side"),
    "R4": gettext_lazy("three around the ball"),
    "R5": gettext_lazy("as many as they have, each side"),
    "R6": gettext_lazy("few in the ruck"),
    "R7": gettext_lazy("folded in time"),
    "L1": gettext_lazy("onside"),
    "L2": gettext_lazy("straight line"),
    "L3": gettext_lazy("no step between neighbours"),
    "L4": gettext_lazy("outside man not ahead of the inside man"),
    "L5": gettext_lazy("line not tilted"),
    "L6": gettext_lazy("gaps grow outwards, slowly"),
    "L7": gettext_lazy("on the inside shoulder"),
    "L8": gettext_lazy("last man near the touch line or their last man"),
}
STATES = {
    "holds": gettext_lazy("holds"),
    "near": gettext_lazy("nearly"),
    "broken": gettext_lazy("broken"),
    "not_asked": gettext_lazy("not asked"),
}
MARKS = {"holds": "✓", "near": "~", "broken": "✗", "not_asked": "–"}
MEASURES = {
    "players deep": gettext_lazy("players deep enough"),
    "depth": gettext_lazy("depth"),
    "from touch": gettext_lazy("from his touch line"),
    "behind near wing": gettext_lazy("deeper than the near wing by"),
    "inside ball": gettext_lazy("inside the ball by"),
    "from ball": gettext_lazy("across from the ball"),
    "off centre": gettext_lazy("from the middle of the pitch"),
    "wings level": gettext_lazy("between the depths of the wings"),
    "to full back": gettext_lazy("across to the full back"),
    "deeper than wing": gettext_lazy("full back deeper than the wing by"),
    "open side": gettext_lazy("towards the open side"),
    "sweepers": gettext_lazy("sweepers"),
    "sweepers apart": gettext_lazy("between two sweepers"),
    "alone": gettext_lazy("depth without any sweeper"),
    "in place after": gettext_lazy("in place after"),
    "in the line": gettext_lazy("in the line"),
    "back after": gettext_lazy("back in the sweep after"),
    "margin": gettext_lazy("time in hand"),
    "guards": gettext_lazy("guards"),
    "bodyguards": gettext_lazy("bodyguards"),
    "third men": gettext_lazy("third men"),
    "from ruck": gettext_lazy("from the edge of the ruck"),
    "behind foot": gettext_lazy("behind the hindmost foot"),
    "around the ball": gettext_lazy("men near the ball"),
    "count": gettext_lazy("defenders more than attackers"),
    "in the ruck": gettext_lazy("defenders in the ruck"),
    "men to fold": gettext_lazy("men free to fold"),
    "folded after": gettext_lazy("guard and bodyguard there after"),
    "beyond offside": gettext_lazy("beyond the offside line"),
    "off the line": gettext_lazy("off the straight line"),
    "tilt": gettext_lazy("tilt of the line"),
    "step": gettext_lazy("step from the man on his left"),
    "ahead of inside": gettext_lazy("ahead of the man inside"),
    "gap": gettext_lazy("gap to the man inside"),
    "mean gap": gettext_lazy("mean gap"),
    "inside attacker": gettext_lazy("inside his attacker"),
    "outside last man": gettext_lazy("grass outside the last man"),
}
WHY_NOT = {
    "back three incomplete": gettext_lazy("11, 14 and 15 are not all on the board"),
    "ball in the middle": gettext_lazy("the ball is in the middle"),
    "ball near a touch line": gettext_lazy("the ball is near a touch line"),
    "half-back in the line": gettext_lazy("the half-back stands in the line"),
    "own 22": gettext_lazy("off inside the own 22"),
    "no sweeper": gettext_lazy("nobody sweeps"),
    "other zone": gettext_lazy("asked between the 22 and halfway only"),
    "no next moment": gettext_lazy("no next moment is drawn"),
    "nobody moves": gettext_lazy("none of the back three moves"),
    "half-back not on the board": gettext_lazy("the half-back is not on the board"),
    "nothing draws him in": gettext_lazy("nothing draws him in"),
    "half-back sweeps or is made up for": gettext_lazy("the half-back sweeps, or a deputy does"),
    "no kicks": gettext_lazy("no kick is set"),
    "nobody in the back field": gettext_lazy("nobody is in the back field"),
    "no ruck": gettext_lazy("there is no ruck"),
    "no attackers": gettext_lazy("no attackers are on the board"),
    "nobody in the line": gettext_lazy("nobody stands in the line"),
    "counter-ruck called": gettext_lazy("counter-ruck is called"),
    "no offside line": gettext_lazy("no offside line is set"),
    "fewer than three in the line": gettext_lazy("fewer than three stand in the line"),
}
SHORT = 3.0  # metres
PAGE = {  # what the page's script says; braces hold what it fills in
    "man": gettext_lazy("{who}, {x} m from the left, {depth} m deep"),
    "man_up": gettext_lazy("{who}, {x} m from the left, {depth} m beyond the line"),
    "defender": gettext_lazy("defender {n}"),
    "attacker": gettext_lazy("attacker {n}"),
    "runner": gettext_lazy("runner {n}"),
    "kick": gettext_lazy("{name} comes down"),
    "ball": gettext_lazy("ball, {x} m from the left"),
    "goes": gettext_lazy("{who} goes to"),
    "help": gettext_lazy("Pull somebody, or press him and use the arrow keys: the verdicts follow."),
    "same": gettext_lazy("no verdict changes"),
    "not_scene": gettext_lazy("These fields are no scene yet: mend what is told beside the drawing."),
    "no_answer": gettext_lazy("The server does not answer: the verdicts are those of before. Move again to try."),
    "at_the_edge": gettext_lazy("That is the edge of what is shown."),
    "frame_of": gettext_lazy("Moment {n} of {of}. {note}"),
    "play": gettext_lazy("Play"),
    "stop": gettext_lazy("Stop"),
}
SIDES = {"left": gettext_lazy("left"), "right": gettext_lazy("right"), "middle": gettext_lazy("middle")}
ZONES = {
    "A": gettext_lazy("own 22"),
    "B": gettext_lazy("own 22 to halfway"),
    "C": gettext_lazy("halfway to their 22"),
    "D": gettext_lazy("their 22"),
}


def page_words() -> dict[str, str]:
    return {key: str(words) for key, words in PAGE.items()}


def said(answer: dict[str, Any]) -> str:
    """The whole answer of the board as plain text."""
    head = _("Ball %(side)s, zone %(zone)s.") % {
        "side": SIDES[answer["side"]],
        "zone": f"{answer['zone']} ({ZONES[answer['zone']]})",
    }
    parts = [
        [head],
        [line for rule in answer["rules"] for line in rule_lines(rule)],
        list(margin_lines(answer["margins"])),
        list(carrier_lines(answer["carriers"])),
        list(advice_lines(answer["advice"], _("Advice: no rule more broken, the worst margin no less"))),
        list(advice_lines(answer["by_the_rules"], _("To mend the rules, whatever it costs"))),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part)


def rule_lines(rule: dict[str, Any]) -> Iterator[str]:
    """The rule, and under it what is not right."""
    why = f" ({WHY_NOT[rule['why_not']]})" if rule["why_not"] else ""
    yield f"{MARKS[rule['state']]} {rule['rule']} {RULES[rule['rule']]}: {STATES[rule['state']]}{why}"
    yield from (f"    {finding_words(each)}" for each in rule["findings"] if each["state"] in ("near", "broken"))


def finding_words(finding: dict[str, Any]) -> str:
    """ "15: depth 9.0 m, wanted 18.0 to 25.0 m" """
    who = f"{finding['who']}: " if finding["who"] else f"{place_words(finding['at'])}: " if finding["at"] else ""
    if finding["who"] and finding["at"]:
        who = f"{finding['who']}, {place_words(finding['at'])}: "
    what, unit = MEASURES[finding["what"]], finding["unit"]
    return _("%(who)s%(what)s %(value)s, wanted %(wanted)s") % {
        "who": who,
        "what": what,
        "value": measured(finding["value"], unit),
        "wanted": wanted(finding["low"], finding["high"], unit),
    }


def place_words(at: str) -> str:
    return str(SIDES.get(at, at))


def wanted(low: float | None, high: float | None, unit: str) -> str:
    if low is None:
        return _("at most %s") % measured(high, unit)
    if high is None:
        return _("at least %s") % measured(low, unit)
    return _("%(low)s to %(high)s") % {"low": number(low, unit), "high": measured(high, unit)}


def measured(value: float | None, unit: str) -> str:
    names = {"m": _("m"), "s": pgettext("seconds", "s"), "degrees": "°", "": ""}
    return f"{number(value, unit)} {names[unit]}".strip()


def number(value: float | None, unit: str) -> str:
    """Seconds and short lengths to a hundredth, longer ones and degrees to a tenth; counts whole."""
    value = value or 0.0
    digits = 0 if unit == "" else 2 if unit == "s" or (unit == "m" and abs(value) < SHORT) else 1
    return f"{round(value, digits) + 0.0:.{digits}f}".replace("-", "−")


def margin_lines(margins: list[dict[str, Any]]) -> Iterator[str]:
    if margins:
        yield _("Margins: seconds in hand of the first man there")
    for each in margins:
        sign = "+" if each["margin"] >= 0 else ""
        yield f"  {each['kick']}: {each['who']}, {sign}{measured(each['margin'], 's')}"


def carrier_lines(carriers: list[dict[str, Any]]) -> Iterator[str]:
    for carrier in carriers:
        yield _("Runner %s") % carrier["name"]
        yield from (f"  {meeting_words(each)}" for each in carrier["meetings"])


def meeting_words(meeting: dict[str, Any]) -> str:
    if meeting["seconds"] is None:
        return _("%(who)s: never; %(short)s short on the line") % {
            "who": meeting["who"],
            "short": measured(meeting["short_by"], "m"),
        }
    return _("%(who)s: after %(seconds)s, %(metres)s from the goal line") % {
        "who": meeting["who"],
        "seconds": measured(meeting["seconds"], "s"),
        "metres": measured(meeting["place"]["y"], "m"),
    }


def advice_lines(advice: dict[str, Any] | None, title: str) -> Iterator[str]:
    if advice is None:
        return
    yield title
    if not advice["moves"]:
        yield "  " + _("nobody has to move")
    yield from (f"  {move_words(move)}" for move in advice["moves"])
    for cost in advice["costs"]:
        yield "  " + _("costs: %(kick)s %(before)s -> %(after)s") % {
            "kick": cost["kick"],
            "before": measured(cost["before"], "s"),
            "after": measured(cost["after"], "s"),
        }


def move_words(move: dict[str, Any]) -> str:
    return _("%(who)s: %(metres)s, to %(x)s from the left, %(y)s from the goal line") % {
        "who": move["who"],
        "metres": measured(move["metres"], "m"),
        "x": measured(move["to"]["x"], "m"),
        "y": measured(move["to"]["y"], "m"),
    }
