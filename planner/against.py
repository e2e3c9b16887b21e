"""Who is against whom at a station with contact where groups do not swap, and what the spare one does.

Reckoned for each print from who is expected, so that nobody is paired with somebody who said no since.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from drills.models import Drill
from planner.core.groups import Group
from planner.core.rotation import stand
from planner.swap_told import StandLine, job_words
from planner.swapping import card_of, person_of
from shared.core.contact import Level
from squads.models import Player

Naming = Callable[[Player], str]


def against(drill: Drill, here: Iterable[tuple[Player, Level]], name: Naming) -> StandLine | None:
    """Pairs alike in size and experience, as groups that swap are paired; None where nobody is against anybody."""
    card, here = card_of(drill, 0), list(here)
    if not card.in_pairs:
        return None
    names = {str(player.pk): name(player) for player, _level in here}
    told = stand(card, (), Group(tuple(person_of(player, level) for player, level in here)))
    return StandLine(
        drill,
        (),
        tuple((names[one.id], names[other.id]) for one, other in told.pairs),
        tuple((names[person.id], job_words(job)) for person, job in told.helpers),
    )
