"""Lines of the record in words."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.core import record as core
from planner.record_models import Account
from planner.record_night import NightRecord


def block_words(block: core.Block) -> str:
    """ "8 min C4, 4 min C2, 10 players"."""
    return parts_words(block.parts)


def parts_words(parts: Sequence[core.Part]) -> str:
    if not any(part.minutes for part in parts):
        return _("did not run")
    count = len({player for part in parts for player in part.here})
    players = ngettext("%(count)d player", "%(count)d players", count) % {"count": count}
    return ", ".join([*(f"{part.minutes} min {part.rung}" for part in parts), players])


def rivals_words(night: NightRecord, standing: Account, block: core.Block, wanted: Sequence[core.Part] | None) -> str:
    """Both values, for the person who came second."""
    told = {"what": block.card.title, "name": standing.by_name, "theirs": block_words(block)}
    if wanted is None:
        return (
            _("%(name)s has changed %(what)s meanwhile: %(theirs)s. Nothing was written: look, then try again.") % told
        )
    mine, theirs = different(night, wanted, block.parts)
    said = _(
        "%(what)s: %(name)s has noted %(theirs)s meanwhile, you %(mine)s. Nothing was written: "
        "save again to keep yours."
    )
    return said % (told | {"mine": mine, "theirs": theirs})


def different(night: NightRecord, mine: Sequence[core.Part], theirs: Sequence[core.Part]) -> tuple[str, str]:
    """Two tellings of one station; by name where they differ in nothing but who was there."""
    if parts_words(mine) != parts_words(theirs):
        return parts_words(mine), parts_words(theirs)
    return names_words(night, mine, theirs), names_words(night, theirs, mine)


def names_words(night: NightRecord, one: Sequence[core.Part], other: Sequence[core.Part]) -> str:
    """Players who are not the same in both, with their minutes."""
    ours, others = minutes_of(one), minutes_of(other)
    names = [
        f"{night.days.players[player].sheet_name} {ours.get(player, 0)} min"
        for player in sorted(ours.keys() | others.keys())
        if ours.get(player) != others.get(player) and player in night.days.players
    ]
    return f"{parts_words(one)}: {', '.join(names)}" if names else parts_words(one)


def minutes_of(parts: Sequence[core.Part]) -> dict[int, int]:
    found: dict[int, int] = {}
    for part in parts:
        for player, here in part.here.items():
            found[player] = found.get(player, 0) + here.minutes
    return found
