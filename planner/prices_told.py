"""What rules keep out, and what more time would buy, in sentences."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.core.explain import Explanation, MoreTime, Price
from planner.core.moves import Kind, Move
from planner.core.prices import AREA, COACHES, STATIONS, Rule
from planner.core.problem import Contact
from planner.core.words import Words, listed
from planner.explanations import SHOWN_NAMES, minutes


def price_lines(explanation: Explanation, words: Words) -> list[str]:
    """The dearest first."""
    return [_price(price, words) for price in explanation.prices]


def _price(price: Price, words: Words) -> str:
    text = _("%(amount)s would let in: %(move)s. It serves %(served)s; the plan gains %(change)s.")
    return text % {
        "amount": more(price, words),
        "move": let_in(price.move, words),
        "served": served(price, words),
        "change": minutes(-price.change),
    }


def more(price: Price, words: Words) -> str:
    """How much looser the rule would have to be, to begin a sentence."""
    if price.rule is Rule.ROOM:
        return _room(price, words)
    ladder = words.problem.limits.ladder
    if price.rule is Rule.LADDER and ladder and price.amount == ladder.minutes:
        return _("A ladder without rungs to be earned first")
    return _looser(price) % {"amount": price.amount}


def _looser(price: Price) -> str:
    n = price.amount
    if price.rule is Rule.DAYS:
        return ngettext("%(amount)d more day of full contact a week", "%(amount)d more days of full contact a week", n)
    if price.rule is Rule.LADDER:
        return ngettext("%(amount)d minute less at the rung below", "%(amount)d minutes less at the rung below", n)
    if price.rule is Rule.REPEATS:
        return ngettext("%(amount)d more repeat of a drill a week", "%(amount)d more repeats of a drill a week", n)
    return _contact(Contact(price.thing), n)


def _contact(kind: Contact, n: int) -> str:
    if kind is Contact.FULL:
        return ngettext(
            "%(amount)d more minute of full contact a week", "%(amount)d more minutes of full contact a week", n
        )
    if kind is Contact.SET_PIECE:
        return ngettext(
            "%(amount)d more minute of live set piece a week", "%(amount)d more minutes of live set piece a week", n
        )
    return ngettext(
        "%(amount)d more minute of controlled contact a week",
        "%(amount)d more minutes of controlled contact a week",
        n,
    )


def _room(price: Price, words: Words) -> str:
    n = price.amount
    told = {"amount": n, "night": words.session(price.session or ""), "kit": words.other(price.thing)}
    if price.thing == STATIONS:
        return ngettext("%(amount)d more station on %(night)s", "%(amount)d more stations on %(night)s", n) % told
    if price.thing == COACHES:
        return ngettext("%(amount)d more coach on %(night)s", "%(amount)d more coaches on %(night)s", n) % told
    if price.thing == AREA:
        return _("%(amount)d m² more grass on %(night)s") % told
    return _("%(amount)d more of the kit “%(kit)s” on %(night)s") % told


def let_in(move: Move, words: Words) -> str:
    names, place = shortened(map(words.player, move.players)), words.slot(move.session, move.slot)
    told = {"drill": words.drill(move.drill), "place": place, "names": names}
    if move.kind is Kind.SWAP:
        return _("%(drill)s for %(left)s on %(place)s") % (told | {"left": words.drill(move.leaves or "")})
    if move.kind is Kind.OPEN:
        return _("one more station, %(drill)s on %(place)s, with %(names)s") % told
    if move.other is None:
        return _("%(names)s at %(drill)s on %(place)s") % told
    return _("%(names)s at %(drill)s on %(place)s, changing places with %(other)s") % (
        told | {"other": words.player(move.other)}
    )


def served(price: Price, words: Words) -> str:
    if not price.served:
        return _("load and standing about, not skills")
    count = ngettext("%(count)d player", "%(count)d players", len(price.served)) % {"count": len(price.served)}
    return _("%(count)s with %(minutes)s min of skill (%(names)s)") % {
        "count": count,
        "minutes": minutes(sum(each.minutes for each in price.served)),
        "names": shortened(words.player(each.player) for each in price.served),
    }


def shortened(names: Iterable[str]) -> str:
    names = list(names)
    if len(names) <= SHOWN_NAMES + 1:
        return listed(names, _("and"))
    rest = len(names) - SHOWN_NAMES
    return listed([*names[:SHOWN_NAMES], ngettext("%(n)d other", "%(n)d others", rest) % {"n": rest}], _("and"))


def more_time_lines(explanation: Explanation, words: Words) -> list[str]:
    """The session that would use it best first."""
    return [_more_time(extra, words) for extra in explanation.more_time]


def _more_time(extra: MoreTime, words: Words) -> str:
    text = ngettext(
        "A slot of 12 minutes more on %(night)s, with %(drills)s, would ease %(count)d player by %(minutes)s min in "
        "all; the plan gains %(change)s.",
        "A slot of 12 minutes more on %(night)s, with %(drills)s, would ease %(count)d players by %(minutes)s min in "
        "all; the plan gains %(change)s.",
        len(extra.eased),
    )
    return text % {
        "night": words.session(extra.session),
        "drills": listed((words.drill(station.drill) for station in extra.stations), _("and")),
        "count": len(extra.eased),
        "minutes": minutes(sum(extra.eased.values())),
        "change": minutes(-extra.change),
    }
