"""The library with 5,000 drills: what one answer costs. Run it by its name: docs/library.md says how."""

from __future__ import annotations

import copy
import random
import re
import sys
import time

import pytest
from django.urls import reverse

from drills.actions import add_starter_library, starter_entries
from drills.entries import columns_of
from drills.models import Drill, DrillSkill, DrillText, Store
from shared.clock import today_at

DRILLS = 5_000
BOUND_MS = 100
ROUNDS = 9
ASKED = {
    "everything": "",
    "the last page": "page=100",
    "one word": "q=shoulder",
    "three words": "q=line+inside+call",
    "a word that no card has": "q=zeppelin",
    "a letter that all have": "q=e",
    "a skill by its name": "q=jackal",
    "a number": "q=4711",
    "players, minutes and rung": "players=12&minutes=10&rung=C2",
    "skill, family, ladder, group": "skill=U02&family=U&ladder=D&group=BR",
    "half a pitch for 24": "width=70&length=50&players=24",
    "kit in store": "store=on&players=16",
    "not run for four weeks": "unused=4",
    "everything at once": "q=line&players=12&minutes=12&family=U&width=70&length=50&age=18&unused=4&store=on",
}


@pytest.fixture
def large(club):
    """The starter library over and over, with other numbers, figures and one word of their own; always the same."""
    today, dice = today_at(club), random.Random(5)
    add_starter_library(club, by="benchmark", today=today)
    models, skills = starter_entries(), {skill.code: skill for skill in club.skills.all()}
    ladders = {ladder.code: ladder for ladder in club.ladders.all()}
    made = []
    for number in range(1001, 1001 + DRILLS - len(models)):
        entry = copy.deepcopy(dice.choice(models)) | {"number": number, "name": f"Card {number} {dice.random():.6f}"}
        drill = Drill(club=club, revised_on=today, ladder=ladders.get(entry["ladder"]), **columns_of(entry))
        drill.players_most += dice.randrange(9)
        drill.kit = [line | {"count": line["count"] + dice.randrange(4)} for line in drill.kit]
        made.append((drill, entry))
    Drill.objects.bulk_create([drill for drill, _entry in made], batch_size=200)
    DrillSkill.objects.bulk_create(
        [
            DrillSkill(drill=drill, skill=skills[taught["skill"]], share=taught["share"], roles=taught["roles"])
            for drill, entry in made
            for taught in entry["skills"]
        ],
        batch_size=1000,
    )
    DrillText.objects.bulk_create([DrillText.of(drill) for drill, _entry in made], batch_size=500)
    Store.objects.create(club=club, kit={"balls": 12, "cones": 60, "bibs": 20, "bags": 6, "shields": 8, "mats": 0})
    assert Drill.objects.count() == DRILLS
    return club


def test_each_answer_costs_less_than_a_tenth_of_a_second(large, assistant, log_in, capsys):
    """Of the processor of this process, the page of 50 and its count included; the best of nine, as others work too."""
    client, address, figures = log_in(assistant), reverse("drills", kwargs={"club": large.slug}), {}
    for name, query in ASKED.items():
        spent = []
        for _round in range(ROUNDS):
            begun = time.process_time()
            page = client.get(f"{address}?{query}")
            spent.append((time.process_time() - begun) * 1000)
        figures[name] = (min(spent), counted(page))
    with capsys.disabled():
        lines = (f"{name:32} {ms:6.1f} ms  {count:5d} drills" for name, (ms, count) in figures.items())
        sys.stdout.write("\n" + "\n".join(lines) + f"\n{'(a million additions here)':32} {additions():6.1f} ms\n")
    assert {name: figure for name, figure in figures.items() if figure[0] > BOUND_MS} == {}


def additions():
    """How fast this machine is at the moment, with what else runs on it: the best of nine, in ms."""
    spent = []
    for _round in range(ROUNDS):
        begun, total = time.process_time(), 0
        for number in range(1_000_000):
            total += number
        spent.append((time.process_time() - begun) * 1000)
    return min(spent)


def counted(page):
    """What the page says of the number of drills that it found."""
    found = re.search(r"<caption>(\d+) drill", page.content.decode())
    return int(found[1]) if found else 0
