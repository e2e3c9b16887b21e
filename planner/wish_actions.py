"""What a coach wishes of a block: saving and taking back, each judged to be of this block and written down.

All verbs raise Refused, with sentences for the person who asked, when nothing was written. `version` is that of
the block's wishes that the person saw. No verb touches the programme: wishes count when it is planned or edited next.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from drills.models import Drill
from planner.changes import Refused, hold
from planner.models import Block
from planner.wish_models import Apart, BlockWishes, DrillWish, Favourite
from planner.wishes_told import told
from shared import audit
from shared.models import User

Wish = DrillWish | Apart | Favourite


@transaction.atomic
def save_night_wishes(*, block: Block, by: User, version: int, **fields: Any) -> BlockWishes:
    """What every night keeps to: themes_most, nothing_new, tiring_rpe, hard_rpe and hard_most."""
    wishes = take(block, version)
    for name, value in fields.items():
        setattr(wishes, name, value)
    wishes.save()
    audit.record(block.squad.club, "changed wishes for nights", block, by=by, **fields)
    return wishes


@transaction.atomic
def save_wish(
    *, block: Block, wish: Wish, by: User, version: int, drills: Collection[Drill] | None = None, **fields: Any
) -> Wish:
    """Make a wish, or change one. `drills` are those of a coach's favourites."""
    did = "changed wish" if wish.pk else "added wish"
    wish.wishes = take(block, version)
    for name, value in fields.items():
        setattr(wish, name, value)
    refuse_unfit(wish, block, drills or ())
    wish.save()
    if drills is not None:
        wish.drills.set(drills)
    audit.record(block.squad.club, did, block, by=by, wish=told(wish, block.squad.club.names))
    return wish


@transaction.atomic
def remove_wish(*, block: Block, wish: Wish, by: User, version: int) -> None:
    take(block, version)
    audit.record(block.squad.club, "took back wish", block, by=by, wish=told(wish, block.squad.club.names))
    wish.delete()


def take(block: Block, version: int) -> BlockWishes:
    """The block's wishes, one version further; others who would change them wait until the transaction ends."""
    hold(block)
    wishes, _made = BlockWishes.objects.get_or_create(block=block)
    if wishes.version != version:
        raise Refused(
            _("Somebody has changed the wishes of this block since you opened them. Nothing was written: look again.")
        )
    wishes.version += 1
    wishes.save()
    return wishes


def refuse_unfit(wish: Wish, block: Block, drills: Collection[Drill]) -> None:
    if not wish.is_of(block) or any(drill.club_id != block.squad.club_id for drill in drills):
        raise Refused(_("That is of another squad or club. Nothing was written."))
    same = type(wish).objects.filter(wishes=wish.wishes, **{name: getattr(wish, name) for name in wish.ONCE})
    if same.exclude(pk=wish.pk).exists():
        raise Refused(_("There is such a wish in this block already: change that one."))
