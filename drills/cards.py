"""Drill cards for the field: A5, two side by side on A4, each set as large as its text allows.

How large is found by setting it: no card is printed before its text is known to end above its foot.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from drills.faces import CardNight, CardTooLong, Face, Name
from drills.ladders import Steps
from drills.models import Drill
from drills.safety import safety_box
from shared.printing import Layout, join, lay_out

__all__ = ["Card", "CardNight", "CardTooLong", "Name", "cards_pdf"]
TEMPLATE = "print/cards.html"


@dataclass(frozen=True, slots=True)
class Card:
    """A drill to print, for a station of tonight if `night` says which."""

    drill: Drill
    night: CardNight | None = None


def cards_pdf(cards: Iterable[Card | Drill], *, title: str = "") -> bytes:
    """A tagged PDF, two A5 cards to an A4 page, in the order given. Fetch the drills `for_card`.

    Raises ValueError if there is no card, CardTooLong, and whatever shared.printing raises.
    """
    faces = _faces([Card(card) if isinstance(card, Drill) else card for card in cards])
    if not faces:
        raise ValueError("no card to print")
    title = title or _("Drill cards")
    return join([_fitted(faces[first : first + 2], title) for first in range(0, len(faces), 2)]).pdf()


def _faces(cards: Sequence[Card]) -> list[Face]:
    steps = {club: Steps.of(club) for club in {card.drill.club for card in cards}}
    return [
        Face(
            id=f"card-{place}",
            drill=card.drill,
            night=card.night,
            beside=steps[card.drill.club].beside(card.drill),
            safety=safety_box(card.drill),
        ).guessed()
        for place, card in enumerate(cards, 1)
    ]


def _fitted(faces: Sequence[Face], title: str) -> Layout:
    """One sheet, set again and again until every card is well filled and ends above its foot."""
    while True:
        layout = lay_out(TEMPLATE, {"cards": faces}, title=title)
        fitted = [face.fitted(layout.places[face.id].bottom) for face in faces]
        if fitted == list(faces):
            return layout
        faces = fitted
