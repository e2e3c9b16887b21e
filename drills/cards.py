"""Drill cards for the field: A5 two to an A4 sheet, A6 four to a sheet, or a whole A4.

The words of a pack are gathered first. If the same pack was printed before it is taken from what was kept;
otherwise its diagrams and codes are drawn and the pack is set.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from enum import StrEnum
from importlib.metadata import version
from pathlib import Path
from typing import Any

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from drills.core.fit import TooLong, fitted
from drills.core.paper import PAPERS, TYPE
from drills.core.reckoning import Reckoning
from drills.faces import (
    CardNight,
    CardRefused,
    CardRound,
    CardTooLong,
    CardUnprintable,
    Face,
    Name,
    frames,
    qr_codes,
)
from drills.ladders import Steps
from drills.models import Drill
from drills.safety import safety_box
from shared.charts import kind_drawing
from shared.core.contact import Kind
from shared.http import on_site
from shared.keeping import kept
from shared.printing import Overfull, Unprintable, ingredients, typeset
from shared.typefaces import width

__all__ = [
    "Card",
    "CardNight",
    "CardRefused",
    "CardRound",
    "CardTooLong",
    "CardUnprintable",
    "Name",
    "Size",
    "cards_pdf",
]
TEMPLATE = "cards.typ"
DRAWN_BY = (Path(__file__).with_name("faces.py"), *sorted(Path(__file__).with_name("core").glob("*.py")))


class Size(StrEnum):
    """Of one card; the sheet is always A4."""

    A4 = "a4"
    A5 = "a5"
    A6 = "a6"


@dataclass(frozen=True, slots=True)
class Card:
    """A drill to print, for a station of tonight if `night` says which."""

    drill: Drill
    night: CardNight | None = None


def cards_pdf(cards: Iterable[Card | Drill], *, size: Size = Size.A5, site: str = "", title: str = "") -> bytes:
    """A tagged PDF of the cards in the order given. Fetch the drills `for_card`.

    `site` is where the site is reached, like "https://plumbline.example"; SITE_ADDRESS without it.
    Raises ValueError if there is no card, CardRefused, and whatever shared.printing raises.
    """
    chosen = [Card(card) if isinstance(card, Drill) else card for card in cards]
    if not chosen:
        raise ValueError("no card to print")
    pack = {
        "size": size,
        "title": title or _("Drill cards"),
        "lang": (get_language() or "en").partition("-")[0],
        "words": words_of(size),
        "cards": [face.said() | {"place": place} for place, face in enumerate(faces(chosen, site), 1)],
    }
    return kept([json.dumps(pack).encode(), *made_of()], lambda: printed(pack))


def faces(cards: Sequence[Card], site: str) -> Iterable[Face]:
    steps = {club: Steps.of(club) for club in {card.drill.club for card in cards}}
    for card in cards:
        drill = card.drill
        yield Face(drill, card.night, steps[drill.club].beside(drill), safety_box(drill), address_of(drill, site))


def address_of(drill: Drill, site: str) -> str:
    """Where the card is read as it stands now: what the route "drill" gives, without loading every page of the site
    for a print from the command line."""
    return on_site(f"/c/{drill.club.slug}/drills/{drill.number}/", site)


def words_of(size: Size) -> dict[str, Any]:
    """What stands on every card."""
    larger = PAPERS[size].larger
    blank = "." * 12
    return {
        "safety": _("Safety"),
        "qr": _("Code that leads to this card on the site"),
        "frames": _("the other frames of the diagram"),
        "elsewhere": _("More on the %s card:") % larger,
        "lines": _("lines"),
        "really": ""
        if size is Size.A6
        else _("Really run %(blank)s min · rung %(blank)s · missed it %(long)s") % {"blank": blank, "long": blank * 4},
        "marks": {kind.value: kind_drawing(kind) for kind in Kind},
    }


def made_of() -> list[bytes]:
    """What makes the look of a pack besides its words."""
    code = [path.read_bytes() for path in DRAWN_BY]
    return [*ingredients(TEMPLATE), version("segno").encode(), *code]


def printed(pack: dict[str, Any]) -> bytes:
    """The pack as set; cards that were reckoned to fit and run over are set again with so much less room."""
    on, told = PAPERS[pack["size"]], pack["words"]
    cards = {card["place"]: Setting(card, Reckoning(card, told, on, width)) for card in drawn(pack["cards"])}
    whole = pack | {"paper": asdict(on) | {"narrow": on.narrow}, "type": TYPE}
    while True:
        try:
            return typeset(TEMPLATE, whole | {"cards": [card.said() for card in cards.values()]})
        except Unprintable as error:
            raise CardUnprintable(unprintable(error.text, pack["cards"])) from error
        except Overfull as error:
            for place, past in error.past.items():
                cards[place].less += past + 1


def drawn(cards: Sequence[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """The cards with their diagrams and codes."""
    codes = qr_codes([card["address"] for card in cards])
    for card, code in zip(cards, codes, strict=True):
        yield card | {"frames": frames(card["diagram"]), "qr": code}


@dataclass
class Setting:
    """A card on its way into print; `less` pt of its height are not to be used."""

    card: dict[str, Any]
    reckoning: Reckoning
    less: float = 0.0

    def said(self) -> dict[str, Any]:
        try:
            fit = fitted(self.reckoning, self.less)
        except TooLong:
            raise CardTooLong(_("%s does not fit a card: shorten its texts.") % named(self.card)) from None
        return self.card | self.reckoning.layout(fit)


def unprintable(text: str, cards: Sequence[dict[str, Any]]) -> str:
    """Which cards hold it: the text may have been broken off inside a word, but never within a letter."""
    where = [named(card) for card in cards if text in json.dumps(card, ensure_ascii=False)]
    return _(
        "No font on this machine can print “%(text)s”: take it out of %(cards)s, or install a font that has it."
    ) % {
        "text": text,
        "cards": ", ".join(where) or _("the texts"),
    }


def named(card: dict[str, Any]) -> str:
    return f"#{card['number']} {card['name']}"
