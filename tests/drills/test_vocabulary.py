"""The club's own words: skills, ladders, names of positions; and its store."""

import datetime as dt

import pytest
from django.urls import reverse

from drills import words
from drills.actions import DrillRefused, EditedMeanwhile, add_drill, add_starter_library, edit_drill, export_pack
from drills.editor import DrillEditor
from drills.forms import store_of
from drills.imports import preview_pack
from drills.models import Drill, Ladder, Skill
from drills.vocabulary import (
    WordRefused,
    add_word,
    bring_back_word,
    change_word,
    is_used,
    keep_store,
    name_positions,
    remove_word,
    retire_word,
    set_steps,
)
from planner.models import GroupTarget
from shared.models import AuditEvent, Club
from shared.preview import State
from tests import factories as f
from tests.drills.packs import entry, pack

DAY = dt.date(2026, 10, 6)


def at(name, **words):
    return reverse(name, kwargs={"club": "brackenford", **words})


def told():
    event = AuditEvent.objects.order_by("number").last()
    return event.did, event.subject, event.detail


def test_a_new_skill_is_offered_on_new_cards(library, head):
    add_word(Skill, club=library, by=head, code="U12", name="Blitz from the tail", family="U")
    assert told() == ("added a skill", "U12 Blitz from the tail", {})
    made = add_drill(library, entry(skills=[{"skill": "U12", "share": 100, "roles": None}]), by=head, today=DAY)
    assert made.pk


def test_a_code_is_given_once_even_when_its_skill_is_retired(library, head):
    library.skills.filter(code="U01").update(retired_on=DAY)
    with pytest.raises(WordRefused, match="U01 is “Skill U01” already"):
        add_word(Skill, club=library, by=head, code="U01", name="Other", family="U")


def test_a_renamed_skill_is_told_by_its_new_name_everywhere_and_its_code_stays(drill, head):
    skill = drill.club.skills.get(code="I04")
    change_word(skill, by=head, seen="Skill I04", name="Tackle from the front", family="I")
    shown = [words.skill(taught) for taught in Drill.objects.for_card().get().skill_shares.all()]
    assert shown == ["Tackle from the front 60 %", "Skill U01 40 % (HB)"]
    assert told() == ("changed a skill", "I04 Skill I04", {"name": "Tackle from the front"})
    assert Drill.objects.get().version == 1


def test_two_people_who_rename_a_skill_do_not_overwrite_each_other(library, head):
    skill = library.skills.get(code="I04")
    change_word(skill, by=head, seen="Skill I04", name="First")
    with pytest.raises(WordRefused, match="Somebody has named it “First” meanwhile"):
        change_word(skill, by=head, seen="Skill I04", name="Second")
    assert library.skills.get(code="I04").name == "First"


def test_a_retired_skill_stays_on_its_card_and_is_not_offered_to_another(drill, head):
    club, skill = drill.club, drill.club.skills.get(code="U01")
    retire_word(skill, by=head, today=DAY)
    mine, other = (
        [code for code, _name in DrillEditor(None, club=club, drill=each).skills.forms[0].fields["skill"].choices]
        for each in (Drill.objects.for_card().get(), None)
    )
    assert ("U01" in mine, "U01" in other) == (True, False)
    assert edit_drill(drill, entry(rpe=7), version=1, by=head, today=DAY).version == 2
    with pytest.raises(DrillRefused, match="the club has no skill U01"):
        add_drill(club, entry(number=8), by=head, today=DAY)
    bring_back_word(skill, by=head)
    assert add_drill(club, entry(number=8), by=head, today=DAY).pk


def test_a_pack_of_the_clubs_own_drills_comes_back_unchanged_although_a_skill_and_a_ladder_are_retired(drill, head):
    club = drill.club
    retire_word(club.skills.get(code="U01"), by=head, today=DAY)
    retire_word(club.ladders.get(code="A"), by=head, today=DAY)
    exported = export_pack(Drill.objects.of(club))["drills"]
    assert [line.state for line in preview_pack(club, pack(*exported)).lines] == [State.SAME]
    assert [line.state for line in preview_pack(club, pack(entry(number=9))).lines] == [State.REFUSED]


def test_the_starter_library_leaves_out_what_the_club_has_retired(club, head):
    add_starter_library(club, by=head, today=DAY)
    before = Drill.objects.count()
    Drill.objects.all().delete()
    retire_word(club.ladders.get(code="N"), by=head, today=DAY)
    gone = before - add_starter_library(club, by=head, today=DAY)
    assert gone > 0
    assert not Drill.objects.filter(ladder__code="N").exists()


def test_only_a_word_that_was_never_used_is_removed(drill, head, squad):
    club = drill.club
    skills = {skill.code: skill for skill in club.skills.all()}
    edit_drill(drill, entry(skills=[{"skill": "I03", "share": 100, "roles": None}]), version=1, by=head, today=DAY)
    GroupTarget.objects.create(squad=squad, group="FR", skill=skills["B06"], minutes=10)
    # I03 stands on the card, I04 and U01 on its first version alone, B06 in a target of the planner
    assert {code: is_used(skill) for code, skill in skills.items()} == {
        "I03": True,
        "I04": True,
        "U01": True,
        "B06": True,
        "I09": False,
    }
    for code in ("I03", "I04", "B06"):
        with pytest.raises(WordRefused, match="retire it"):
            remove_word(skills[code], by=head)
    remove_word(skills["I09"], by=head)
    assert told() == ("removed a skill", "I09 Skill I09", {})
    assert sorted(club.skills.values_list("code", flat=True)) == ["B06", "I03", "I04", "U01"]


def test_a_ladder_in_use_is_not_removed(drill, head):
    with pytest.raises(WordRefused):
        remove_word(drill.club.ladders.get(code="A"), by=head)
    remove_word(drill.club.ladders.get(code="D"), by=head)
    assert list(Ladder.objects.values_list("code", flat=True)) == ["A"]


def test_cards_change_places_on_their_ladder_each_in_a_new_version(drill, head):
    other = add_drill(drill.club, entry(number=8, step=1), by=head, today=DAY)
    ladder = drill.club.ladders.get(code="A")
    changed = set_steps(ladder, {drill.pk: (0, 1), other.pk: (1, 1)}, by=head, today=DAY)
    assert changed == [drill]
    assert list(Drill.objects.values_list("number", "step", "version")) == [(7, 0, 2), (8, 1, 1)]


def test_places_on_a_ladder_change_all_together_or_not_at_all(drill, head):
    other = add_drill(drill.club, entry(number=8, step=1), by=head, today=DAY)
    ladder = drill.club.ladders.get(code="A")
    with pytest.raises(EditedMeanwhile):
        set_steps(ladder, {drill.pk: (0, 1), other.pk: (4, 9)}, by=head, today=DAY)
    assert list(Drill.objects.values_list("step", flat=True)) == [3, 1]


def test_the_clubs_names_of_positions_are_said_on_cards_forms_plans_and_in_the_squad(drill, head, squad, log_in):
    club = drill.club
    name_positions(club, {"FR": "Tight five", "HB": "", "9": "Scrum-half"}, by=head)
    assert told()[2] == {"names": {"FR": "Tight five", "9": "Scrum-half"}}
    assert words.groups(Drill.objects.for_card().get()) == "tight five, half-backs"
    player = f.PlayerFactory(squad=squad, main_position=9)
    f.PlayerFactory(squad=squad, main_position=1)
    client = log_in(head)
    seen = {
        "drill_edit": client.get(at("drill_edit", number=7)),
        "drills": client.get(at("drills")),
        "squad": client.get(at("squad", squad=squad.slug)),
        "targets": client.get(at("targets", squad=squad.slug)),
        "player": client.get(at("player", player=player.pk)),
        "player_edit": client.get(at("player_edit", player=player.pk)),
    }
    said = {
        name: ("Tight five" in page.content.decode(), "Scrum-half" in page.content.decode())
        for name, page in seen.items()
    }
    assert said == {
        "drill_edit": (True, False),
        "drills": (True, False),
        "squad": (True, False),
        "targets": (True, False),
        "player": (False, True),
        "player_edit": (False, True),
    }


def test_the_store_is_counted_and_what_is_left_empty_is_there_in_plenty(club, head, log_in):
    log_in(head).post(at("kit_store"), {"balls": "4", "cones": "0", "bibs": ""})
    assert store_of(club) == {"balls": 4, "cones": 0}
    assert told() == ("counted the store", "Brackenford RFC", {"kit": {"balls": 4, "cones": 0}})
    keep_store(club, {"balls": 4, "cones": 0}, by=head)
    assert AuditEvent.objects.count() == 1


# Pages


def test_the_page_of_words_shows_all_of_them_with_their_cards(drill, assistant, log_in):
    drill.club.skills.filter(code="I09").update(retired_on=DAY)
    page = log_in(assistant).get(at("drill_words"))
    assert {skill.code: skill.cards for skill in page.context["skills"]} == {
        "I03": 0, "I04": 1, "I09": 0, "U01": 1, "B06": 0,
    }  # fmt: skip
    assert {ladder.code: ladder.cards for ladder in page.context["ladders"]} == {"A": 1, "D": 0}
    text = page.content.decode()
    assert ("retired 6 Oct 2026" in text, "New skill" in text) == (True, False)


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_of_words_takes_the_same_queries_for_any_number(club, head, log_in, count, django_assert_num_queries):
    for n in range(count):
        f.SkillFactory(club=club, code=f"I{n}")
        f.LadderFactory(club=club, code=f"L{n}")
    client = log_in(head)
    with django_assert_num_queries(5):  # session, user, membership, skills, ladders
        client.get(at("drill_words"))


@pytest.mark.parametrize(
    ("code", "why"),
    [
        ("u12", "Write capital letters and digits, like U12."),
        ("U1234567", "Ensure this value has at most 6 characters (it has 8)."),
        ("", "This field is required."),
        ("I04", "I04 is “Skill I04” already; take another code."),
    ],
)
def test_a_code_that_cannot_be_is_told_beside_its_field(library, head, log_in, code, why):
    page = log_in(head).post(at("word_new", kind="skills"), {"code": code, "name": "X", "family": "U"})
    assert page.context["form"].errors["code"] == [why]
    assert Skill.objects.count() == 5


def test_words_are_added_changed_retired_and_brought_back_by_their_pages(library, head, log_in):
    client = log_in(head)
    client.post(at("word_new", kind="ladders"), {"code": "Q", "name": "Chase line"})
    client.post(at("word_edit", kind="ladders", code="Q"), {"name": "Chase and cover", "seen": "Chase line"})
    client.post(at("word_retire", kind="ladders", code="Q"))
    ladder = library.ladders.get(code="Q")
    assert (ladder.name, ladder.retired_on is not None) == ("Chase and cover", True)
    client.post(at("word_bring_back", kind="ladders", code="Q"))
    assert library.ladders.get(code="Q").retired_on is None
    client.post(at("word_remove", kind="ladders", code="Q"))
    assert not library.ladders.filter(code="Q").exists()


def test_removing_a_skill_in_use_says_why_not(drill, head, log_in):
    page = log_in(head).post(at("word_remove", kind="skills", code="I04"), follow=True)
    assert "is in use" in page.content.decode()
    assert "Remove" not in page.content.decode()
    assert drill.club.skills.filter(code="I04").exists()


def test_words_of_another_club_do_not_exist(library, head, log_in):
    f.SkillFactory(club=f.ClubFactory(), code="Z1")
    client = log_in(head)
    assert client.get(at("word_edit", kind="skills", code="Z1")).status_code == 404
    assert client.get(at("word_edit", kind="verbs", code="I04")).status_code == 404


def test_a_whole_ladder_is_read_from_its_foot_with_what_earns_the_next(library, head, log_in):
    for number, step in ((1, 3), (2, 0), (3, 0)):
        add_drill(library, entry(number=number, step=step, name=f"Card {number}"), by=head, today=DAY)
    add_drill(library, entry(number=4, ladder="D"), by=head, today=DAY)
    page = log_in(head).get(at("ladder", code="A"))
    steps = [(each.step, [drill.number for drill in each.drills], each.is_top) for each in page.context["steps"]]
    assert steps == [(0, [2, 3], False), (3, [1], True)]
    text = page.content.decode()
    assert text.index("Card 2") < text.index("Card 3") < text.index("Card 1")
    assert (text.count("Earns the next"), text.count("At the top")) == (2, 1)
    assert f"{at('cards_pdf')}?ladder=A" in text


@pytest.mark.parametrize("count", [1, 3])
def test_a_ladder_takes_the_same_queries_for_any_number_of_cards(
    library, head, log_in, count, django_assert_num_queries
):
    for number in range(1, count + 1):
        add_drill(library, entry(number=number), by=head, today=DAY)
    client = log_in(head)
    with django_assert_num_queries(5):  # session, user, membership, ladder, cards
        client.get(at("ladder", code="A"))


def test_the_order_of_a_ladder_is_changed_on_its_page(drill, head, log_in):
    client = log_in(head)
    page = client.post(at("ladder_steps", code="A"), {"step-7": "9", "seen-7": "1"})
    assert "Ensure this value is less than or equal to 4." in page.content.decode()
    client.post(at("ladder_steps", code="A"), {"step-7": "1", "seen-7": "1"})
    assert list(Drill.objects.values_list("step", "version")) == [(1, 2)]
    page = client.post(at("ladder_steps", code="A"), {"step-7": "0", "seen-7": "1"}, follow=True)
    assert "is version 2 by now" in page.content.decode()
    assert list(Drill.objects.values_list("step", "version")) == [(1, 2)]


def test_a_club_without_own_words_has_the_usual_ones(db):
    assert Club(name="X", slug="x").names.groups["FR"] == "Front row"
