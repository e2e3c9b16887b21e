"""The line of a run: how the cost of the best plan fell, and how low any plan could be."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

WIDTH, HEIGHT, EDGE = 360, 96, 4


def falling_line(trace: Sequence[Sequence[float]], bound: float | None, *, seconds: float, until: float) -> SafeString:
    """An SVG of `trace`, rows of (seconds, cost, ...): level until the next better plan, then straight down.

    It is as wide as the `seconds` asked for, and drawn as far as the run has come, `until`. The dashed line
    is `bound`, which no plan can be below. Empty without a plan.
    """
    if not trace:
        return mark_safe("")
    end = max(until, trace[-1][0])
    scale = (WIDTH - 2 * EDGE) / max(seconds, end, 0.1)
    top = max(point[1] for point in trace) or 1
    across = [EDGE + point[0] * scale for point in trace]
    down = [_height(point[1], top) for point in trace]
    steps = "".join(f"H{x:.1f}V{y:.1f}" for x, y in zip(across[1:], down[1:], strict=True))
    dashes = f'<path class="least" d="M{EDGE} {_height(bound, top):.1f}H{WIDTH - EDGE}"/>' if bound else ""
    return mark_safe(
        f'<svg class="falling" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" role="img">'
        f"<title>{escape(_title(trace, bound))}</title>"
        f'<path class="ground" d="M{EDGE} {HEIGHT - EDGE}H{WIDTH - EDGE}"/>{dashes}'
        f'<path class="cost" d="M{across[0]:.1f} {down[0]:.1f}{steps}H{EDGE + end * scale:.1f}"/></svg>'
    )


def _height(cost: float, top: float) -> float:
    return HEIGHT - EDGE - cost / top * (HEIGHT - 2 * EDGE)


def _title(trace: Sequence[Sequence[float]], bound: float | None) -> str:
    fell = _("Cost of the best plan: from %(first)d to %(last)d in %(seconds)d s.") % {
        "first": trace[0][1],
        "last": trace[-1][1],
        "seconds": trace[-1][0],
    }
    least = _("No plan can cost less than %(bound)d.") % {"bound": bound} if bound else ""
    return f"{fell} {least}".strip()
