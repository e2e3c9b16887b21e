"""A player's contact against its limits, drawn in Python: a squad has hundreds of figures, and a template looks up each
word and number anew.

All text passes `html.escape`; a test types HTML into every name.
"""

from __future__ import annotations

from functools import lru_cache
from html import escape

from django.utils.formats import date_format
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from planner.core.totals import Figure, Limit, Rolling, Room
from shared.charts import kind_mark, kind_words, plumb_bar
from shared.core.contact import Kind
from shared.templatetags.plumbline import minutes


def room_word(room: Room) -> SafeString:
    """The word beside what is not fine."""
    match room:
        case Room.NOT_ALLOWED:
            return word("past", _("in contact in spite of a status"))
        case Room.PAST:
            return word("past", _("past"))
        case Room.NEAR:
            return word("near", _("near"))
    return SafeString("")


def word(css: str, text: str) -> SafeString:
    return mark_safe(f' <span class="word {css}">{escape(text)}</span>')


def soft(text: str) -> str:
    return f' <span class="soft">{escape(text)}</span>'


def kind_head(kind: Kind) -> SafeString:
    """The hatch of a kind with its name."""
    return mark_safe(f"{kind_mark(kind)} {escape(kind_words(kind))}")


def figure_cell(figure: Figure, language: str | None = None) -> SafeString:
    """Minutes with the bar against the limit, and the words that are due. `language`: the active one, if known."""
    limit, told = figure.limit, minutes(figure.minutes)
    if limit is None:
        drawn = f"<span>{escape(_('%(minutes)s min, no limit') % {'minutes': told})}</span>"
    else:
        drawn = against(figure.minutes, limit, figure.kind, figure.near_percent, language or get_language())
    if figure.against_limit is Room.PAST:
        drawn += word("past", _("past by %(excess)s") % {"excess": minutes(figure.excess_shown)})
    elif figure.against_limit is Room.NEAR:
        drawn += word("near", _("near"))
    return mark_safe(drawn + (watch(figure.rolling) if figure.is_watched else ""))


@lru_cache(maxsize=4096)
def against(much: float, limit: Limit, kind: Kind, near_percent: int, _language: str | None) -> str:
    """In the language that is active; many players share a figure."""
    told = minutes(much)
    title = _("%(minutes)s of %(limit)s min %(kind)s (limit: %(source)s)") % {
        "minutes": told,
        "limit": limit.minutes,
        "kind": kind_words(kind),
        "source": limit.source,
    }
    words = _("%(minutes)s of %(limit)s min") % {"minutes": told, "limit": limit.minutes}
    source = soft(f"({limit.source})") if limit.is_of_pattern else ""
    bar = plumb_bar(much, limit.minutes, title, near=near_percent / 100)
    return f'{bar} <span class="figure">{escape(words)}</span>{source}'


def watch(rolling: Rolling) -> str:
    text = _("watch: %(minutes)s min in the seven days to %(day)s")
    return soft(text % {"minutes": minutes(rolling.minutes), "day": date_format(rolling.last_day, "D j M")})
