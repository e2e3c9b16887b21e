"""The library as a table: what a spreadsheet reads back."""

import csv
import datetime as dt
import io

import pytest
from django.urls import reverse
from hypothesis import HealthCheck, given, settings

from drills.actions import add_drill, retire_drill
from drills.models import Drill
from drills.tables import COLUMNS, library_csv
from shared.cells import harmless
from shared.tables import read_table
from tests.drills.packs import entries, entry

DAY = dt.date(2026, 10, 6)


def read_back(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_a_drill_is_one_row_with_all_that_its_card_says(library, head):
    add_drill(library, entry(), by=head, today=DAY)
    (row,) = read_back(library_csv(Drill.objects.of(library)))
    said = {
        "number": "7",
        "name": "Rope and Cone",
        "version": "1",
        "revised_on": "2026-10-06",
        "author": "head",
        "retired_on": "",
        "skills": "I04 60 %; U01 40 % (HB)",
        "groups": "FR HB",
        "needs": "1xHB",
        "players_ideal": "8",
        "kit": "4 cones for every 4; 2 balls in all",
        "cues": "Feet level; Look in, look out; Up together",
        "faults": "Fault 0 → Fix 0; Fault 1 → Fix 1; Fault 2 → Fix 2",
        "ladder": "A",
        "step": "3",
        "rung": "C3",
    }
    assert {column: row[column] for column in said} == said


def test_every_field_of_a_drill_has_its_column():
    columns = {field.name for field in Drill._meta.concrete_fields}
    # The drawing is no text; the rest names rows of this site.
    beside = {"id", "club", "diagram", "adapted_from", "adapted_version"}
    assert columns - beside == set(COLUMNS) - {"skills"}


def test_a_text_never_becomes_a_formula(library, head):
    for number, name in enumerate(("=HYPERLINK(0)", "+1", "-2", "@x"), 1):
        add_drill(library, entry(number=number, name=name), by=head, today=DAY)
    names = [row["name"] for row in read_back(library_csv(Drill.objects.of(library)))]
    assert names == ["'=HYPERLINK(0)", "'+1", "'-2", "'@x"]


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(made=entries())
def test_any_drill_is_read_back_as_it_was_written(library, made):
    Drill.objects.all().delete()
    add_drill(library, made, by="somebody", today=DAY)
    (row,) = read_back(library_csv(Drill.objects.of(library)))
    assert [row[name] for name in ("name", "purpose", "set_up")] == [
        harmless(made[name]) for name in ("name", "purpose", "set_up")
    ]
    assert (row["minutes_least"], row["rung"]) == (str(made["minutes"]["least"]), made["rung"])


def test_the_table_is_read_by_the_sites_own_reader_of_spreadsheets_too(library, assistant, head, log_in):
    for number in (1, 2):
        add_drill(library, entry(number=number, name="Défense; glissée, “wide”"), by=head, today=DAY)
    answer = log_in(assistant).get(reverse("drills_csv", kwargs={"club": library.slug}))
    assert answer["Content-Disposition"] == 'attachment; filename="drills-brackenford.csv"'
    table = read_table(answer.content, "drills.csv")
    assert table.origin.startswith("CSV, UTF-8")
    assert list(table.headers) == list(COLUMNS)
    assert [row.text("name") for row in table.rows] == ["Défense; glissée, “wide”"] * 2


def test_retired_drills_have_a_table_and_a_pack_of_their_own(library, assistant, head, log_in):
    add_drill(library, entry(number=1), by=head, today=DAY)
    retire_drill(add_drill(library, entry(number=2), by=head, today=DAY), by=head, today=DAY)
    client = log_in(assistant)
    table, pack = (reverse(name, kwargs={"club": library.slug}) for name in ("drills_csv", "drills_export"))
    for query, number, day in (("", 1, ""), ("?retired=on", 2, "2026-10-06")):
        (row,) = read_back(client.get(table + query).content.decode("utf-8-sig"))
        assert (row["number"], row["retired_on"]) == (str(number), day)
        assert [drill["number"] for drill in client.get(pack + query).json()["drills"]] == [number]


@pytest.mark.parametrize("count", [1, 3])
def test_a_table_takes_the_same_queries_for_any_number_of_drills(library, head, count, django_assert_num_queries):
    for number in range(1, count + 1):
        add_drill(library, entry(number=number), by=head, today=DAY)
    with django_assert_num_queries(3):  # drills with their ladders, shares, skills
        library_csv(Drill.objects.of(library))
