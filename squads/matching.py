"""Who is who: the rows of a list against the players of a squad.

A reference of the club's own settles it. Without one a person is known by full name and date of birth; where
that leaves a doubt the row is refused, because two players taken for one would share a clearance.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from squads.columns import Entry, Refusal
from squads.models import Player

Finding = Player | None | Refusal


def name_key(name: str) -> str:
    """A name without what differs from list to list: case, width of letters, kinds of apostrophes and hyphens."""
    text = unicodedata.normalize("NFKC", name).casefold()
    text = re.sub(r"[’‘ʼ`´]", "'", re.sub(r"[‐‑–—]", "-", text))
    return " ".join(text.split())


def matched(entries: Sequence[Entry], players: Sequence[Player]) -> dict[int, Finding]:
    """For the row number of each entry: the player it means, None for a new one, or why it is refused.

    The surest matches come first: reference, then name with date of birth, then what remains. So a second
    reading of the same file finds what the first one wrote.
    """
    matching = Matching(players, dict(twins_in(entries)))
    for attempt in (matching.by_key, matching.by_name_and_birth, matching.by_name):
        for entry in entries:
            if entry.number not in matching.found:
                matching.settle(entry, attempt(entry))
    return matching.found


def twins_in(entries: Sequence[Entry]) -> Iterator[tuple[int, Refusal]]:
    """Rows that say the same person, or the same reference, as a row above them."""
    with_key: dict[str, Entry] = {}
    namesakes: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        same_name = namesakes[name_key(entry.name)]
        earlier = with_key.get(entry.key) or next((other for other in same_name if may_be_one(entry, other)), None)
        if earlier:
            yield entry.number, Refusal("", _("it may be the same player as row %(row)d.") % {"row": earlier.number})
        same_name.append(entry)
        if entry.key:
            with_key.setdefault(entry.key, entry)


def may_be_one(one: Entry, other: Entry) -> bool:
    """Whether two rows of one name must be taken for one person, as far as the file tells."""
    if one.born and other.born:
        return one.born == other.born
    return not (one.key and other.key)


@dataclass
class Matching:
    """Each attempt yields what it found out about an entry, or nothing."""

    players: Sequence[Player]
    found: dict[int, Finding] = field(default_factory=dict)
    taken: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.keys = {player.key: player for player in self.players}
        self.names: dict[str, list[Player]] = defaultdict(list)
        for player in self.players:
            self.names[name_key(str(player))].append(player)

    def namesakes(self, entry: Entry) -> list[Player]:
        """Players of this name that no row has been matched with yet."""
        return [player for player in self.names[name_key(entry.name)] if player.pk not in self.taken]

    def settle(self, entry: Entry, findings: Iterator[Finding]) -> None:
        for finding in findings:
            self.found[entry.number] = finding
            if isinstance(finding, Player):
                self.taken.add(finding.pk)

    def by_key(self, entry: Entry) -> Iterator[Finding]:
        if entry.key in self.keys:
            yield self.keys[entry.key]

    def by_name_and_birth(self, entry: Entry) -> Iterator[Finding]:
        same = [player for player in self.namesakes(entry) if entry.born and player.born == entry.born]
        if not same:
            return
        if len(same) > 1:
            yield doubt(same)
        elif entry.key and not same[0].key_is_made:
            yield Refusal("key", _("this player is in the squad under the reference %(key)s.") % {"key": same[0].key})
        else:
            yield same[0]

    def by_name(self, entry: Entry) -> Iterator[Finding]:
        """Somebody with a new reference is new, unless one namesake without a reference may be meant."""
        namesakes = self.namesakes(entry)
        if entry.key:
            namesakes = [player for player in namesakes if player.key_is_made and not unlike(player, entry)]
        if not namesakes:
            yield None
        elif len(namesakes) == 1 and not unlike(namesakes[0], entry):
            yield namesakes[0]
        else:
            yield doubt(namesakes)


def unlike(player: Player, entry: Entry) -> bool:
    """Both dates of birth are known, and differ."""
    return bool(player.born and entry.born and player.born != entry.born)


def doubt(namesakes: list[Player]) -> Refusal:
    born = [date_format(player.born, "j M Y") if player.born else _("unknown") for player in namesakes]
    return Refusal(
        "born",
        _(
            "players of this name are in the squad (born: %(born)s). If one of them is meant, mend the date of birth; "
            "if not, give both a reference."
        )
        % {"born": ", ".join(born)},
    )
