"""The line of a run: how the cost of the best plan fell, and how low any plan could be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

WIDTH, HEIGHT = 360, 150
LEFT, RIGHT, TOP, FOOT = 8, 8, 20, 22  # margins; the words of the axes stand in the upper and the lower one


def falling_line(trace: Sequence[Sequence[float]], bound: float | None, *, seconds: float, until: float) -> SafeString:
    """An SVG of `trace`, rows of (seconds, cost, ...): level until the next better plan, then straight down.

    It is as wide as the `seconds` asked for, and drawn as far as the run has come, `until`. The dashed line
    is `bound`, which no plan can be below. Empty without a plan.
    """
    if not trace:
        return mark_safe("")
    end = max(until, trace[-1][0])
    whole = max(seconds, end, 0.1)
    top = max(point[1] for point in trace) or 1
    across = [_across(point[0], whole) for point in trace]
    down = [_down(point[1], top) for point in trace]
    steps = "".join(f"H{x:.1f}V{y:.1f}" for x, y in zip(across[1:], down[1:], strict=True))
    dashes = f'<path class="least" d="M{LEFT} {_down(bound, top):.1f}H{WIDTH - RIGHT}"/>' if bound else ""
    return mark_safe(
        f'<svg class="falling" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" role="img">'
        f"<title>{escape(_title(trace, bound))}</title>"
        f'<path class="ground" d="M{LEFT} {TOP}V{HEIGHT - FOOT}H{WIDTH - RIGHT}"/>{dashes}'
        f'<path class="cost" d="M{across[0]:.1f} {down[0]:.1f}{steps}H{_across(end, whole):.1f}"/>'
        f"{''.join(_labels(whole, bound, top))}</svg>"
    )


def _across(at: float, whole: float) -> float:
    return LEFT + at / whole * (WIDTH - LEFT - RIGHT)


def _down(cost: float, top: float) -> float:
    return HEIGHT - FOOT - cost / top * (HEIGHT - TOP - FOOT)


def _labels(whole: float, bound: float | None, top: float) -> Iterator[str]:
    """Words and seconds at the axes; the line of the bound has its name above it, or below if it is near the top."""
    yield _text(LEFT, TOP - 7, "start", _("What stays open, all parts together (lower is better)"))
    yield _text(LEFT, HEIGHT - 6, "start", _("0 s"))
    yield _text(WIDTH - RIGHT, HEIGHT - 6, "end", _("%(seconds)d s of search") % {"seconds": round(whole)})
    if bound:
        line = _down(bound, top)
        yield _text(
            WIDTH - RIGHT, line + 14 if line + 18 < HEIGHT - FOOT else line - 5, "end", _("no plan can be lower")
        )


def _text(x: float, y: float, anchor: str, words: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _title(trace: Sequence[Sequence[float]], bound: float | None) -> str:
    fell = _("What the best plan leaves open, all parts together: from %(first)d to %(last)d in %(seconds)d s.") % {
        "first": trace[0][1],
        "last": trace[-1][1],
        "seconds": trace[-1][0],
    }
    least = _("No plan can leave less than %(bound)d open.") % {"bound": bound} if bound else ""
    return f"{fell} {least}".strip()
