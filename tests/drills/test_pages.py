"""The pages of the library, as coaches use them."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from drills.actions import add_drill, add_starter_library
from drills.entries import entry_of
from drills.models import Drill
from shared.clock import today_at
from shared.models import Upload
from tests import factories as f
from tests.drills.packs import entry, pack


def at(name, **words):
    return reverse(name, kwargs={"club": "brackenford", **words})


@pytest.fixture
def drill(library):
    return add_drill(library, entry(), by="somebody", today=today_at(library))


def said(response):
    return [str(message) for message in response.context["messages"]]


def upload(client, content, name="pack.json"):
    return client.post(at("drills_import"), {"file": SimpleUploadedFile(name, content)}, follow=True)


def test_an_empty_library_offers_the_starter_library_to_the_head_coach_alone(club, head, assistant, log_in):
    assert "Add the starter library" in log_in(head).get(at("drills")).content.decode()
    page = log_in(assistant).get(at("drills")).content.decode()
    assert ("Add the starter library" in page, "Ask a head coach" in page) == (False, True)


def test_the_button_adds_the_starter_library(club, head, log_in):
    page = log_in(head).post(at("drills_starter"), follow=True)
    assert said(page) == ["60 drills of the starter library added."]
    assert page.context["page"].paginator.count == 60


def test_the_filter_is_read_from_the_address(library, assistant, log_in):
    f.DrillFactory(club=library, number=1, rung="C1")
    f.DrillFactory(club=library, number=2)
    page = log_in(assistant).get(at("drills") + "?rung=C1")
    assert [line.drill.number for line in page.context["lines"]] == [1]
    assert '<option value="C1" selected>' in page.content.decode()


def test_a_filter_that_makes_no_sense_is_told_beside_its_field(library, assistant, log_in):
    page = log_in(assistant).get(at("drills") + "?players=many").content.decode()
    assert "Enter a whole number." in page
    assert "Mend the filter above" in page


def test_a_filter_that_nothing_passes_says_so(drill, assistant, log_in):
    assert "No drill passes all of these." in log_in(assistant).get(at("drills") + "?q=nowhere").content.decode()


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_the_same_queries_for_any_number_of_drills(
    library, assistant, log_in, count, django_assert_num_queries
):
    for number in range(1, count + 1):
        f.DrillFactory(club=library, number=number, skills={"I04": 60, "U01": 40})
    client = log_in(assistant)
    with django_assert_num_queries(9):  # session, user, membership, skills, ladders, found, drills, shares, skills
        client.get(at("drills"))


def test_a_long_library_is_paged_and_keeps_its_filter(library, assistant, log_in):
    for number in range(1, 63):
        f.DrillFactory(club=library, number=number, rung="C1")
    page = log_in(assistant).get(at("drills") + "?rung=C1&page=2")
    assert [line.drill.number for line in page.context["lines"]] == list(range(51, 63))
    assert "?rung=C1&amp;page=1" in page.content.decode()


def test_a_card_page_shows_every_field(drill, assistant, log_in):
    page = log_in(assistant).get(at("drill", number=7)).content.decode()
    shown = ["Rope and Cone", "so that nobody runs through", "C3 Controlled", "controlled, 30 % of the time", "1:2"]
    shown += ["4–16, best 8", "5–12, best 8 min", "10 × 20 m for every 4", "4 cones for every 4; 2 balls in all"]
    shown += ["front row, half-backs", "1 half-backs", "U14 and older", "Ball lift", "Up on the lift.", "Feet level"]
    shown += ["Fault 1", "Fix 1", "8 of 10 level", "Who was ahead?", "Behind the attack", "5 m between grids."]
    shown += ["“Freeze” stops the drill", "The fifth calls.", "The coach plays.", "Skill U01", "Version 1 of"]
    assert [text for text in shown if text not in page] == []


def test_a_card_page_leads_down_and_up_its_ladder(library, assistant, log_in):
    ladder = library.ladders.get(code="A")
    for number, step in ((1, 0), (2, 2), (3, 4)):
        f.DrillFactory(club=library, number=number, ladder=ladder, step=step)
    page = log_in(assistant).get(at("drill", number=2)).content.decode()
    assert [at("drill", number=n) in page for n in (1, 3)] == [True, True]


@pytest.mark.parametrize("count", [1, 3])
def test_a_card_page_takes_the_same_queries_on_any_ladder(library, assistant, log_in, count, django_assert_num_queries):
    ladder = library.ladders.get(code="A")
    for number in range(1, count + 1):
        f.DrillFactory(club=library, number=number, ladder=ladder, step=number)
    client = log_in(assistant)
    with django_assert_num_queries(7):  # session, user, membership, drill, shares, skills, ladder's cards
        client.get(at("drill", number=1))


def test_a_drill_of_another_club_does_not_exist(library, head, log_in):
    f.DrillFactory(number=99)
    client = log_in(head)
    assert [client.get(at(name, number=99)).status_code for name in ("drill", "drill_edit")] == [404, 404]
    assert client.post(at("drill_retire", number=99)).status_code == 404


@pytest.mark.parametrize("name", ["drill_edit", "drill_retire", "drill_bring_back"])
@pytest.mark.parametrize("who", ["assistant", "welfare"])
def test_only_the_head_coach_changes_a_drill(drill, name, who, request, log_in):
    client = log_in(request.getfixturevalue(who))
    assert client.post(at(name, number=7)).status_code == 403
    assert entry_of(Drill.objects.for_card().get()) == entry()


def test_retiring_and_bringing_back(drill, head, log_in):
    client = log_in(head)
    page = client.post(at("drill_retire", number=7), follow=True)
    assert said(page) == ["#7 Rope and Cone is retired: new plans pass it over."]
    assert "Bring back" in page.content.decode()
    assert [line.drill for line in client.get(at("drills")).context["lines"]] == []
    client.post(at("drill_bring_back", number=7))
    assert [line.drill for line in client.get(at("drills")).context["lines"]] == [drill]


def test_retiring_needs_a_button_not_a_link(drill, head, log_in):
    assert log_in(head).get(at("drill_retire", number=7)).status_code == 405


def test_a_pack_is_shown_before_it_is_written(library, head, log_in):
    client = log_in(head)
    page = upload(client, pack(entry(), entry(number=8, rpe=0)))
    assert "1 new" in page.content.decode()
    assert "is 0; it should be 1 to 10" in page.content.decode()
    assert Drill.objects.count() == 0
    page = client.post(page.request["PATH_INFO"], {"seen": page.context["preview"].fingerprint}, follow=True)
    assert said(page) == ["The pack is in the library: 1 new, 0 changed, 0 same, 1 refused."]
    assert list(Drill.objects.values_list("number", "author")) == [(7, "head")]
    assert Upload.objects.count() == 0


def test_a_file_that_is_no_pack_is_told_beside_its_field_and_not_kept(library, head, log_in):
    page = upload(log_in(head), b"number;name")
    assert page.context["form"].errors["file"] == [
        "This is no drill pack: line 1, column 1: this is not JSON (Expecting value)."
    ]


def test_a_preview_that_has_grown_old_is_shown_again_and_nothing_written(library, head, log_in):
    client = log_in(head)
    page = upload(client, pack(entry()))
    add_drill(library, entry(rpe=2), by="somebody", today=today_at(library))
    page = client.post(page.request["PATH_INFO"], {"seen": page.context["preview"].fingerprint})
    assert "Nothing was written" in page.content.decode()
    assert [str(line.state) for line in page.context["preview"].lines] == ["changed"]
    assert Drill.objects.get().rpe == 2


def test_a_pack_of_somebody_else_cannot_be_confirmed(library, head, log_in):
    other = f.MembershipFactory(club=library, role="head_coach").user
    kept = Upload.objects.create(club=library, name="pack.json", content=pack(entry()), made_by=other)
    page = log_in(head).post(at("drills_import_confirm", upload=kept.pk), {"seen": ""}, follow=True)
    assert said(page)[0].startswith("This file is no longer here")
    assert Drill.objects.count() == 0


def test_the_library_given_out_is_a_pack_that_comes_in_again(drill, assistant, log_in):
    response = log_in(assistant).get(at("drills_export"))
    assert json.loads(response.content) == {"format": "plumbline-drills/1", "drills": [entry()]}
    assert response["Content-Disposition"] == 'attachment; filename="drills-brackenford.json"'


def test_cards_are_chosen_by_number_ladder_or_all(library, assistant, log_in):
    for number, step in ((1, 2), (2, 0)):
        f.DrillFactory(club=library, number=number, ladder=library.ladders.get(code="A"), step=step)
    f.DrillFactory(club=library, number=3)
    f.DrillFactory(club=library, number=4, retired_on="2026-10-01")
    client = log_in(assistant)
    page = client.get(at("cards"))
    assert [drill.number for drill in page.context["drills"]] == [1, 2, 3]
    assert [ladder.code for ladder in page.context["ladders"]] == ["A"]
    for query in ("number=3", "ladder=A", "all=1"):
        printed = client.get(f"{at('cards_pdf')}?{query}")
        assert (printed["Content-Type"], printed.content[:5]) == ("application/pdf", b"%PDF-")


@pytest.mark.parametrize("query", ["", "number=", "number=x", "number=99999999999999999999", "ladder=Q"])
def test_printing_nothing_goes_back_with_a_word(library, assistant, log_in, query):
    page = log_in(assistant).get(f"{at('cards_pdf')}?{query}", follow=True)
    assert said(page) == ["No card was chosen. Tick at least one."]


def test_a_card_that_cannot_be_printed_is_told_by_name(drill, head, log_in):
    Drill.objects.update(set_up="Nebelscheinwerfer " * 2000)
    page = log_in(head).get(f"{at('cards_pdf')}?number=7", follow=True)
    assert said(page) == ["#7 Rope and Cone does not fit a card: shorten its texts."]


def test_the_whole_starter_library_opens_on_its_pages(club, head, log_in):
    add_starter_library(club, by="somebody", today=today_at(club))
    client = log_in(head)
    assert {client.get(at("drill", number=number)).status_code for number in range(1, 61)} == {200}
