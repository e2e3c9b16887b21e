"""Keeps each drill that stands as the version it is, and makes it searchable.

The translation is a copy of what the code did when this was written: a migration may not change with the code.
"""

from django.db import migrations

from drills.core.folding import joined

SPANS = {
    "players": ("least", "ideal", "most"),
    "minutes": ("least", "ideal", "most"),
    "contacts": ("least", "most"),
    "grid": ("width", "length", "per"),
}
PLAIN = (
    "number", "name", "purpose", "groups", "needs", "one_more", "one_fewer", "group_shape", "age_from", "training_age",
    "kit", "set_up", "trigger", "runs", "ends", "cues", "questions", "faults", "success", "sets", "work_rest", "rpe",
    "rung", "contact_share", "step", "easier", "harder", "coaches", "coach_place", "safety",
)
SAID = (
    "name", "purpose", "set_up", "trigger", "ends", "success", "easier", "harder", "one_more", "one_fewer",
    "group_shape", "training_age", "coach_place", "sets",
)
SAID_IN_LINES = ("cues", "runs", "questions", "safety")


def keep_present_versions(apps, schema_editor):
    drills = apps.get_model("drills", "Drill").objects
    told = apps.get_model("drills", "DrillText").objects
    kept = apps.get_model("drills", "DrillVersion").objects
    for drill in drills.select_related("ladder").prefetch_related("skill_shares__skill").iterator(chunk_size=500):
        told.update_or_create(drill=drill, defaults={"folded": joined(texts(drill))})
        written = {"made_on": drill.revised_on, "author": drill.author, "entry": entry(drill)}
        kept.get_or_create(drill=drill, version=drill.version, defaults=written)


def entry(drill):
    found = {field: getattr(drill, field) for field in PLAIN}
    for field, parts in SPANS.items():
        found[field] = {part: getattr(drill, f"{field}_{part}") for part in parts}
    found["skills"] = [
        {"skill": taught.skill.code, "share": taught.share, "roles": taught.roles}
        for taught in drill.skill_shares.all()
    ]
    found["ladder"] = drill.ladder.code if drill.ladder else None
    return found


def texts(drill):
    yield from (getattr(drill, field) for field in SAID)
    for field in SAID_IN_LINES:
        yield from getattr(drill, field)
    yield from (text for pair in drill.faults for text in pair.values())


class Migration(migrations.Migration):

    dependencies = [
        ('drills', '0004_versions'),
    ]

    operations = [
        migrations.RunPython(keep_present_versions, migrations.RunPython.noop),
    ]
