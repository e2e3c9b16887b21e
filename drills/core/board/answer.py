"""All that the board says of a scene, as JSON holds it (format plumbline-board/1, see docs/board.md)."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from drills.core.board.advice import Advice, Move, advise
from drills.core.board.cover import Meeting, meetings
from drills.core.board.judge import judged
from drills.core.board.kicks import Cover, covered
from drills.core.board.scene import Scene
from drills.core.board.verdict import Finding, State, Verdict

FORMAT = "plumbline-board/1"


def answer(scene: Scene) -> dict[str, Any]:
    """Rules, margins, meetings and advice; metres and seconds to three decimals."""
    return judgement(scene) | counsel(scene)


def judgement(scene: Scene) -> dict[str, Any]:
    """The answer without the advice, which takes a hundred times as long."""
    return {
        "format": FORMAT,
        "zone": scene.zone,
        "side": str(scene.side),
        "rules": [rule_of(verdict) for verdict in judged(scene)],
        "margins": margins_of(covered(scene)),
        "carriers": [
            {"name": carrier.name, "meetings": [meeting_of(each) for each in meetings(scene, carrier)]}
            for carrier in scene.carriers
        ],
    }


def counsel(scene: Scene) -> dict[str, Any]:
    """Where the back field should stand; where that leaves a rule broken, also what mends it whatever it costs."""
    kept = advise(scene)
    mended = advice_of(advise(scene, rules_first=True)) if still_broken(scene, kept) else None
    return {"advice": advice_of(kept), "by_the_rules": mended}


def still_broken(scene: Scene, kept: Advice) -> bool:
    """Whether a rule of places is broken even where the advice would put them."""
    after = scene.with_places((move.who, move.end) for move in kept.moves)
    return any(v.state is State.BROKEN and v.rule[0] in "PH" and v.rule not in ("P7", "P8") for v in judged(after))


def rule_of(verdict: Verdict) -> dict[str, Any]:
    return {
        "rule": verdict.rule,
        "state": verdict.state.key,
        "passes": None if verdict.state is State.NOT_ASKED else verdict.state is not State.BROKEN,
        "why_not": verdict.why_not,
        "findings": [finding_of(finding) for finding in verdict.findings],
    }


def finding_of(finding: Finding) -> dict[str, Any]:
    return {
        "what": finding.what,
        "who": finding.who,
        "at": finding.at,
        "value": round(finding.value, 3),
        "unit": finding.unit,
        "low": bound(finding.low),
        "high": bound(finding.high),
        "tolerance": bound(finding.slack),
        "state": finding.state.key,
    }


def bound(value: float) -> float | None:
    return round(value, 3) if math.isfinite(value) else None


def margins_of(covers: Iterable[Cover]) -> list[dict[str, Any]]:
    return [
        {"kick": c.kick.name, "x": c.kick.x, "y": c.kick.y, "seconds": round(c.kick.seconds, 3), "who": c.who,
         "margin": round(c.margin, 3)}
        for c in covers
    ]  # fmt: skip


def meeting_of(meeting: Meeting) -> dict[str, Any]:
    place = meeting.place and {"x": round(meeting.place[0], 3), "y": round(meeting.place[1], 3)}
    seconds = None if meeting.seconds is None else round(meeting.seconds, 3)
    return {"who": meeting.who, "seconds": seconds, "place": place, "short_by": round(meeting.short_by, 3)}


def advice_of(advice: Advice) -> dict[str, Any]:
    return {
        "moves": [move_of(move) for move in advice.moves],
        "before": margins_of(advice.before),
        "after": margins_of(advice.after),
        "costs": [
            {"kick": before.kick.name, "before": round(before.margin, 3), "after": round(after.margin, 3)}
            for before, after in advice.costs
        ],
    }


def move_of(move: Move) -> dict[str, Any]:
    start, end = ({"x": round(x, 2), "y": round(y, 2)} for x, y in (move.start, move.end))
    return {"who": move.who, "from": start, "to": end, "metres": round(move.metres, 2)}
