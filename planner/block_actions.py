"""Blocks and the minutes that position groups should get."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from typing import Any

from django.conf import settings
from django.db import transaction

from drills.models import Skill
from planner.models import Block, GroupTarget
from shared import audit
from shared.models import User
from squads.models import Squad

Minutes = Mapping[tuple[str, int], int]  # position group and key of the skill -> minutes in four weeks


@transaction.atomic
def save_block(*, block: Block, focus: Collection[Skill], by: User, **fields: Any) -> Block:
    """Make a block, or change one; what stands in its sessions is not touched."""
    did = "changed block" if block.pk else "made block"
    for name, value in fields.items():
        setattr(block, name, value)
    block.save()
    block.focus.set(focus)
    codes = sorted(skill.code for skill in focus)
    audit.record(block.squad.club, did, block, by=by, focus=codes, weeks=block.weeks, first_day=str(block.first_day))
    return block


@transaction.atomic
def set_targets(*, squad: Squad, minutes: Minutes, by: User) -> None:
    """Exactly these minutes for the skills named; nought is the same as no target."""
    squad.group_targets.filter(skill__in={skill for _group, skill in minutes}).delete()
    GroupTarget.objects.bulk_create(
        GroupTarget(squad=squad, group=group, skill_id=skill, minutes=wanted)
        for (group, skill), wanted in minutes.items()
        if wanted
    )
    audit.record(squad.club, "set skill minutes", squad, by=by, minutes=sum(minutes.values()))


def usual_minutes(skills: list[Skill]) -> dict[tuple[str, int], int]:
    """The starter set: minutes per group in four weeks of two nights, in season."""
    table = json.loads((settings.BASE_DIR / "drills" / "data" / "targets.json").read_text(encoding="utf-8"))
    return {(group, skill.pk): row.get(skill.code, 0) for group, row in table.items() for skill in skills}
