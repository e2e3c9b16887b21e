"""Our own signs, drawn once for page and paper: the plumb-line bar, columns of days, the hatches of contact kinds.

Paper reads the black of the attributes; on a page the style sheet's colours take their place.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from html import escape

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

WIDTH, HEIGHT, LINE_AT = 160, 22, 120


def standing(value: float, limit: float | None, near: float = 0.8) -> str:
    """Where a figure stands against its limit: "past", "near" or "fine". Compared unrounded; the limit is inside."""
    if limit is None:
        return "fine"
    if value > limit + 1e-9:
        return "past"
    return "near" if limit and value >= near * limit - 1e-9 else "fine"


def plumb_bar(value: float, limit: float | None, title: str, low: float | None = None, near: float = 0.8) -> SafeString:
    """A bar against one thin upright line with a weight at its foot: left of it is room, right of it is none.

    `limit` in the unit of `value`; `low` marks the least that is wanted with a small notch. Values beyond
    a third above the limit run into the right edge.
    """
    top = max(limit if limit is not None else value, low or 0, 1e-9)
    scale = LINE_AT / top
    length = min(value * scale, WIDTH - 1)
    words = standing(value, limit, near)
    notch = f'<path class="notch" stroke="#000" d="M{low * scale:.1f} 4v10"/>' if low else ""
    line = (
        f'<path class="line" stroke="#000" d="M{LINE_AT} 1v15"/><path class="weight" d="M{LINE_AT - 3} 16h6l-3 5z"/>'
        if limit is not None
        else ""
    )
    return mark_safe(
        f'<svg class="plumb {words}" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" role="img">'
        f"<title>{escape(title)}</title>"
        f'<path class="ground" stroke="#000" stroke-width=".4" d="M0 9h{WIDTH}"/>'
        f'<rect class="bar" x="0" y="5" width="{length:.1f}" height="8"/>'
        f"{notch}{line}</svg>"
    )


DAY_WIDTH, DAYS_HEIGHT = 12, 64


def day_columns(days: Sequence[tuple[float | None, str, bool]], title: str) -> SafeString:
    """A column for each day from one ground line up; `days` are its value, its words, and whether a week begins.

    A day of nothing is a dot on the line, one that is not known an open diamond above it: never a column of no height.
    """
    top = max((value for value, _words, _begins in days if value), default=1)
    room = DAYS_HEIGHT - 6
    drawn = "".join(
        f"<g>{day_column(n * DAY_WIDTH, value and value * room / top, begins)}<title>{escape(words)}</title></g>"
        if value is not None
        else f"<g>{day_unknown(n * DAY_WIDTH, begins)}<title>{escape(words)}</title></g>"
        for n, (value, words, begins) in enumerate(days)
    )
    width = len(days) * DAY_WIDTH
    return mark_safe(
        f'<svg class="days" viewBox="0 0 {width} {DAYS_HEIGHT}" width="{width}" height="{DAYS_HEIGHT}" role="img">'
        f'<title>{escape(title)}</title><path class="ground" stroke="#000" stroke-width=".6" '
        f'd="M0 {DAYS_HEIGHT - 4}h{width}"/>{drawn}</svg>'
    )


def day_column(at: int, height: float, begins: bool) -> str:
    ground = DAYS_HEIGHT - 4
    if not height:
        return f'{week_line(at, begins)}<circle class="rest" cx="{at + 6}" cy="{ground}" r="1.3"/>'
    return f'{week_line(at, begins)}<path class="bar" d="M{at + 2} {ground}v-{height:.1f}h8v{height:.1f}z"/>'


def day_unknown(at: int, begins: bool) -> str:
    middle = DAYS_HEIGHT - 12
    shape = f"M{at + 6} {middle - 5}l4 5l-4 5l-4 -5z"
    return f'{week_line(at, begins)}<path class="unknown" fill="none" stroke="#000" d="{shape}"/>'


def week_line(at: int, begins: bool) -> str:
    return f'<path class="week" stroke="#000" stroke-width=".3" d="M{at}.2 2v{DAYS_HEIGHT - 4}"/>' if begins else ""


HATCHES = {
    "none": "",
    "controlled": '<path fill="none" stroke="#000" d="M-2 6L6 -2M0 12L12 0M6 14L14 6"/>',
    "set_piece": '<path fill="none" stroke="#000" d="M-2 6L6 -2M0 12L12 0M6 14L14 6M6 -2L14 6M0 0L12 12M-2 6L6 14"/>',
    "full": '<rect width="12" height="12" class="solid"/>',
}


def kind_words(kind: str) -> str:
    return words_of_kinds(get_language())[kind]


@lru_cache
def words_of_kinds(_language: str | None) -> dict[str, str]:
    """In the language that is active. They stand hundreds of times on a page and are looked up once."""
    return {
        "none": _("no contact"),
        "controlled": _("controlled"),
        "set_piece": _("live set piece"),
        "full": _("full contact"),
    }


def kind_drawing(kind: str) -> str:
    """The same mark as a drawing of its own, for paper."""
    frame = '<rect fill="none" stroke="#000" x=".5" y=".5" width="11" height="11"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 12 12">{HATCHES[kind]}{frame}</svg>'


def kind_mark(kind: str) -> SafeString:
    """A small square with the hatch of a contact kind; the word always stands beside it.

    Screen readers pass over it on a page. In a PDF every drawing needs a title.
    """
    return mark_safe(
        f'<svg class="kind {kind}" viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">'
        f"<title>{escape(kind_words(kind))}</title>"
        f'{HATCHES[kind]}<rect class="frame" fill="none" stroke="#000" x=".5" y=".5" width="11" height="11"/></svg>'
    )
