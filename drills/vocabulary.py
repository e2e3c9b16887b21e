"""The club's own words: its skills and ladders, the order of cards on a ladder, names of positions, kit in its store.

Codes stay for good, since cards and packs name them. What a card has ever named is retired, not removed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.db.models import Model
from django.utils.translation import gettext as _

from drills.actions import edit_drill
from drills.entries import codes_of, entry_of
from drills.models import Drill, DrillVersion, Ladder, Skill, Store
from shared import audit
from shared.models import Club, User

Word = Skill | Ladder


class WordRefused(ValueError):
    """Says in words why nothing was written."""


@transaction.atomic
def add_word(model: type[Word], *, club: Club, by: User, code: str, name: str, **more: Any) -> Word:
    """`more`: the family of a skill. Raises WordRefused if the code is taken, by a retired one too."""
    Club.objects.select_for_update().get(pk=club.pk)
    if taken := model.objects.of(club).filter(code=code).first():
        raise WordRefused(_("%(code)s is “%(name)s” already; take another code.") % {"code": code, "name": taken.name})
    word = model.objects.create(club=club, code=code, name=name, **more)
    audit.record(club, f"added a {kind_of(word)}", word, by=by)
    return word


@transaction.atomic
def change_word(word: Word, *, by: User, seen: str, **changes: Any) -> Word:
    """Another name, or another family of a skill. `seen` is the name that the person saw. Raises WordRefused."""
    word = type(word).objects.select_for_update().select_related("club").get(pk=word.pk)
    if word.name != seen:
        raise WordRefused(_("Somebody has named it “%(name)s” meanwhile. Look again.") % {"name": word.name})
    was = {field: getattr(word, field) for field, value in changes.items() if getattr(word, field) != value}
    if was:
        before = str(word)
        for field in was:
            setattr(word, field, changes[field])
        word.save()
        audit.record(word.club, f"changed a {kind_of(word)}", before, by=by, **{field: changes[field] for field in was})
    return word


@transaction.atomic
def retire_word(word: Word, *, by: User, today: dt.date) -> None:
    """Cards that name it keep it; new ones are not offered it."""
    if type(word).objects.current().filter(pk=word.pk).update(retired_on=today):
        audit.record(word.club, f"retired a {kind_of(word)}", word, by=by)


@transaction.atomic
def bring_back_word(word: Word, *, by: User) -> None:
    if type(word).objects.retired().filter(pk=word.pk).update(retired_on=None):
        audit.record(word.club, f"brought back a {kind_of(word)}", word, by=by)


@transaction.atomic
def remove_word(word: Word, *, by: User) -> None:
    """Take away what was never used. Raises WordRefused."""
    Club.objects.select_for_update().get(pk=word.club_id)
    if is_used(word):
        raise WordRefused(_("%(word)s is in use, or was on an earlier version of a card: retire it.") % {"word": word})
    audit.record(word.club, f"removed a {kind_of(word)}", word, by=by)
    word.delete()


def is_used(word: Word) -> bool:
    """Whether any row of any app leans on it, or any version of a card names it."""
    relations = (field for field in word._meta.get_fields(include_hidden=True) if field.auto_created)
    pointing = (relation for relation in relations if relation.is_relation and not relation.concrete)
    return any(_points_at(word, relation) for relation in pointing) or _is_remembered(word)


def _points_at(word: Model, relation: Any) -> bool:
    return relation.related_model._base_manager.filter(**{relation.field.name: word}).exists()


def _is_remembered(word: Word) -> bool:
    entries = DrillVersion.objects.filter(drill__club=word.club_id).values_list("entry", flat=True).iterator()
    codes = (codes_of(entry) for entry in entries)
    return any(word.code in (each.skills if isinstance(word, Skill) else each.ladders) for each in codes)


@transaction.atomic
def set_steps(ladder: Ladder, steps: Mapping[int, tuple[int, int]], *, by: User, today: dt.date) -> list[Drill]:
    """Put cards on other steps of their ladder: key of a drill -> step, and the version that the person saw.

    Returns those that changed, each of them in its next version. Raises EditedMeanwhile and DrillRefused.
    """
    changed = []
    for drill in Drill.objects.filter(ladder=ladder, pk__in=steps).for_card():
        step, version = steps[drill.pk]
        if drill.step != step:
            changed.append(edit_drill(drill, entry_of(drill) | {"step": step}, version=version, by=by, today=today))
    return changed


@transaction.atomic
def name_positions(club: Club, names: Mapping[str, str], *, by: User) -> None:
    """The club's own words for positions and groups, by code; an empty one is the usual word."""
    club = Club.objects.select_for_update().get(pk=club.pk)
    own = {code: name for code, name in names.items() if name}
    if own != club.position_names:
        club.position_names = own
        club.save(update_fields=["position_names"])
        audit.record(club, "named positions", club, by=by, names=own)


@transaction.atomic
def keep_store(club: Club, kit: Mapping[str, int], *, by: User) -> None:
    """Pieces of each kind that the club has; a kind that is not named is there in plenty."""
    store, _made = Store.objects.get_or_create(club=club)
    if store.kit != kit:
        Store.objects.filter(pk=store.pk).update(kit=dict(kit))
        audit.record(club, "counted the store", club, by=by, kit=dict(kit))


def kind_of(word: Word) -> str:
    return type(word).__name__.lower()
