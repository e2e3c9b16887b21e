"""What a rule says of a scene."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

INFINITY = float("inf")


class State(IntEnum):
    """From the best to the worst."""

    NOT_ASKED = 0  # the scene does not hold what the rule looks at, or the rule is off
    HOLDS = 1
    NEAR = 2  # outside what is wanted, within the tolerance
    BROKEN = 3

    @property
    def key(self) -> str:
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Finding:
    """One measure: `value` should lie from `low` to `high`; `slack` is how far off it may be and only be near.

    `what` names the measure, `who` the man it is of (a jersey number, or None), `unit` is m, s, degrees or "".
    """

    rule: str
    what: str
    value: float
    low: float = -INFINITY
    high: float = INFINITY
    slack: float = 0.0
    who: int | None = None
    unit: str = "m"
    at: str = ""

    @property
    def off(self) -> float:
        """How far outside what is wanted; 0 inside."""
        return max(self.low - self.value, self.value - self.high, 0.0)

    @property
    def state(self) -> State:
        if self.off <= ROUNDING:
            return State.HOLDS
        return State.NEAR if self.off <= self.slack + ROUNDING else State.BROKEN


ROUNDING = 1e-9  # 44.8 - 44.3 is not 0.5 to the last bit


@dataclass(frozen=True, slots=True)
class Verdict:
    """A rule with all that was measured for it. `why_not`: a word for why it was not asked."""

    rule: str
    findings: tuple[Finding, ...] = ()
    why_not: str = ""

    @property
    def state(self) -> State:
        return max((finding.state for finding in self.findings), default=State.NOT_ASKED)

    @property
    def worst(self) -> Finding | None:
        return max(self.findings, key=lambda each: (each.state, each.off - each.slack), default=None)


def verdict(rule: str, findings: Iterable[Finding], why_not: str = "") -> Verdict:
    found = tuple(findings)
    return Verdict(rule, found, "" if found else why_not)
