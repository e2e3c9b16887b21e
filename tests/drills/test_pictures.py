"""The drawing on the page of a drill: seen, read and explained."""

import re

import pytest
from django.urls import reverse

from drills.actions import add_drill, add_starter_library, edit_drill
from drills.models import Drill
from shared.clock import today_at
from tests.drills.diagrams import drawn
from tests.drills.packs import entry, teach


@pytest.fixture
def drill(club):
    teach(club)
    return add_drill(club, entry(diagram=drawn()), by="somebody", today=today_at(club))


@pytest.fixture
def reader(client, assistant):
    client.force_login(assistant)
    return client


def page(client, drill, name="drill", **more):
    return client.get(reverse(name, kwargs={"club": drill.club.slug, "number": drill.number, **more})).content.decode()


def test_a_drill_shows_each_frame_with_its_note_one_after_another(reader, drill):
    html = page(reader, drill)
    assert html.count('<svg xmlns="http://www.w3.org/2000/svg" class="diagram"') == 2
    assert html.index('id="frame-1-t"') < html.index("Ball lifts</figcaption>") < html.index('id="frame-2-t"')


def test_a_drawing_is_also_there_in_words(reader, drill):
    html = page(reader, drill)
    assert "<li>2: Defender 7 goes in to tackle 6 m up the page and to the right.</li>" in html
    assert "<li>Attacker 10: 10.5 m across, 13 m up</li>" in html


def test_a_drawing_leads_to_what_its_signs_mean(reader, drill):
    address = reverse("drill_signs", kwargs={"club": drill.club.slug})
    assert f'href="{address}"' in page(reader, drill)
    html = reader.get(address).content.decode()
    for name in ("attacker", "defender", "tackle bag", "ruck", "carry", "kick", "order", "pitch lines"):
        assert f" {name}</dt>" in html
    assert "the defence faces up the page" in html


def test_a_drill_that_nobody_has_drawn_shows_no_empty_frame(reader, drill):
    Drill.objects.update(diagram=None)
    html = page(reader, drill)
    assert "frames-shown" not in html
    assert 'class="diagram"' not in html


def test_no_id_stands_twice_on_the_page_of_a_drawing(reader, drill):
    ids = re.findall(r'\bid="([^"]+)"', page(reader, drill))
    assert len(ids) == len(set(ids))


def test_an_older_version_shows_the_drawing_that_it_had(reader, drill):
    edit_drill(drill, entry(diagram=None), version=1, by="somebody", today=today_at(drill.club))
    assert "frames-shown" not in page(reader, drill)
    assert "frames-shown" in page(reader, drill, "drill_version", version=1)


def test_every_starter_drill_shows_its_drawing(reader, club):
    add_starter_library(club, by="somebody", today=today_at(club))
    for drill in Drill.objects.of(club):
        assert page(reader, drill).count("<figure>") == len(drill.diagram["frames"]), drill
