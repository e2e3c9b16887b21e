"""Cards on paper, read back from the PDF itself with pypdf."""

import datetime as dt
import io
import re
from dataclasses import dataclass

import pdfua
import pypdf
import pytest
from django.db import transaction

from drills.actions import add_drill, add_starter_library, starter_entries
from drills.cards import Card, CardNight, CardTooLong, Name, cards_pdf
from drills.core.pack import faults
from drills.models import Drill
from drills.schema import entry_faults, fields
from tests import factories as f
from tests.drills.packs import VOCABULARY, entry, teach

DAY = dt.date(2026, 10, 6)
A4_LANDSCAPE = (842, 595)  # pt, ISO 216: 297 x 210 mm
A5_WIDTH = 421
MARGIN = 6 * 72 / 25.4  # pt: nothing stands nearer to an edge or to the cut
FOOT = 40  # pt: below stands the foot with its dotted lines
COMPOUND = "Donaudampfschifffahrtskapitänsmützen"


@dataclass
class Printed:
    """One A5 of the print: its words run together, and where its pieces of text begin (pt from its bottom left)."""

    text: str
    pieces: list[tuple[float, float, float, str]]

    def says(self, words: str) -> bool:
        return squeezed(words) in self.text


def squeezed(text: str) -> str:
    """Without blanks: where lines break is the printer's business."""
    return re.sub(r"\s+", "", text)


def halves(pdf: bytes) -> list[Printed]:
    return [half for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for half in halves_of(page)]


def halves_of(page) -> list[Printed]:
    pieces: list[tuple[float, float, float, str]] = []

    def note(text, cm, tm, font, size):
        if text.strip():
            x, y = tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5]
            pieces.append((x, y, size * abs(tm[0] * cm[0]), text.strip("\n")))

    page.extract_text(visitor_text=note)
    assert tuple(round(float(edge)) for edge in page.mediabox[2:]) == A4_LANDSCAPE
    found = []
    for left in (0, A5_WIDTH):
        own = [(x - left, y, size, text) for x, y, size, text in pieces if left <= x < left + A5_WIDTH]
        found.append(Printed(squeezed("".join(text for *_place, text in own)), own))
    return [half for half in found if half.pieces]


def stands_in(piece: str, texts: list[str]) -> bool:
    """Whether a piece of print is a line of one of the texts, and not just a word that they share with others."""
    return len(piece) > 12 and any(squeezed(piece).removeprefix("•") in squeezed(text) for text in texts)


@pytest.fixture
def library(club):
    teach(club)
    return club


def drill_of(club, **changes):
    """A row past every check, so that cards meet texts that no form would let through."""
    texts = {name: value for name, value in changes.items() if name not in entry()}
    drill = add_drill(club, entry(**{k: v for k, v in changes.items() if k in entry()}), by="somebody", today=DAY)
    Drill.objects.filter(pk=drill.pk).update(**texts)
    return Drill.objects.for_card().get(pk=drill.pk)


@pytest.fixture(scope="module")
def starter_print(django_db_setup, django_db_blocker):
    """The drills of the starter library and their print. Printed once: it takes seconds."""
    with django_db_blocker.unblock(), transaction.atomic():
        club = f.ClubFactory(name="Brackenford RFC", slug="printing")
        add_starter_library(club, by="somebody", today=DAY)
        drills = list(Drill.objects.of(club).for_card())
        pdf = cards_pdf(drills)
        transaction.set_rollback(True)
    return drills, pdf


@pytest.fixture(scope="module")
def starter(starter_print):
    """Each drill of the starter library with its card."""
    drills, pdf = starter_print
    return list(zip(drills, halves(pdf), strict=True))


def fonts_of(pdf: bytes) -> set[str]:
    page = pypdf.PdfReader(io.BytesIO(pdf)).pages[0]
    return {font.get_object()["/BaseFont"] for font in page["/Resources"]["/Font"].values()}


def test_each_starter_card_is_one_a5_with_all_its_texts(starter):
    assert len(starter) == 60
    for entry_, (drill, card) in zip(starter_entries(), starter, strict=True):
        texts = [drill.name, drill.purpose, drill.set_up, drill.trigger, drill.ends, drill.success, drill.one_more]
        texts += [drill.one_fewer, drill.easier, drill.harder, drill.coach_place, drill.training_age, drill.work_rest]
        texts += [*drill.runs, *drill.cues, *drill.questions, *drill.safety]
        texts += [text for pair in drill.faults for text in pair.values()]
        assert [text for text in texts if not card.says(text)] == [], drill
        assert drill.number == entry_["number"]


def test_each_starter_card_stays_within_its_edges(starter):
    for drill, card in starter:
        lowest = min(y for _x, y, _size, _text in card.pieces)
        assert lowest > MARGIN / 2, drill
        assert min(x for x, *_rest in card.pieces) > MARGIN, drill
        assert max(x for x, *_rest in card.pieces) < A5_WIDTH - MARGIN, drill


def test_each_starter_card_from_c1_up_prints_its_safety_box(starter):
    for drill, card in starter:
        parts = ["“Freeze” stops the drill", f"not cleared for {drill.rung}, {drill.rung_name.lower()}"]
        parts += ["head to the side", "Your union's regulations and medical staff decide; this card does not."]
        assert [card.says(part) for part in parts] == [drill.rung != "C0"] * 4, drill
        assert card.says("Ask aloud before the first whistle") == (drill.rung in {"C4", "SP3", "SP4"}), drill


def test_what_is_read_at_arms_length_is_large_on_each_starter_card(starter, starter_print):
    """Smallest type in pt. Small letters of DejaVu Sans are a fifth taller than those of a book face (x-height
    0.55 of the size against 0.45), so that 9.8 pt stands for 12 pt. Its condensed cut comes with
    fonts-dejavu-extra; without it the same texts are set half a point smaller."""
    condensed = any("Condensed" in font for font in fonts_of(starter_print[1]))
    least, cues = (9.8, 11.7) if condensed else (9.2, 11)
    for drill, card in starter:
        smallest = {
            part: min(size for _x, _y, size, text in card.pieces if stands_in(text, texts))
            for part, texts in {"cues": drill.cues, "runs": drill.runs, "safety": drill.safety}.items()
        }
        assert smallest["cues"] >= cues, drill
        assert min(smallest["runs"], smallest["safety"]) >= least, drill


def test_a_card_names_its_rung_its_share_and_its_version(library):
    drill = drill_of(library, version=3, revised_on=dt.date(2026, 11, 2))
    (card,) = halves(cards_pdf([drill]))
    assert card.says("C3 Controlled")
    assert card.says("controlled, 30 % of the time")
    assert card.says("#7 Rope and Cone · version 3 of 2 Nov 2026 · Brackenford RFC")
    assert card.says("Skill I04 60 %, Skill U01 40 % (HB)")


def test_a_card_names_the_cards_below_and_above_on_its_ladder(library):
    drill_of(library, number=1, name="Lower", step=0, rung="C0", contact_share=0, contacts={"least": 0, "most": 0})
    drill_of(library, number=3, name="Higher", step=4)
    (card,) = halves(cards_pdf([drill_of(library)]))
    assert card.says("Ladder A, step 3 ↓ #1 Lower ↑ #3 Higher")


def test_cards_keep_their_order_two_to_a_page(library):
    drills = [drill_of(library, number=n, name=f"Drill no {n}") for n in (3, 1, 2)]
    pdf = cards_pdf(drills)
    assert [half.says(f"#{n} Drill no {n}") for half, n in zip(halves(pdf), (3, 1, 2), strict=True)] == [True] * 3
    assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) == 2


def test_a_card_for_tonight_names_time_place_coach_and_players_with_nc_beside_a_name(library):
    night = CardNight("19:20, 12 min", "place B", "A. Wren", (Name("O. Pike"), Name("S. Lark", nc=True)))
    (card,) = halves(cards_pdf([Card(drill_of(library), night)]))
    assert card.says("19:20, 12 min · place B · Coach A. Wren")
    assert card.says("O. Pike, S. Lark NC")


def test_the_same_drill_may_stand_on_two_cards_of_a_night(library):
    drill = drill_of(library)
    cards = halves(cards_pdf([Card(drill, CardNight(place="place A")), Card(drill, CardNight(place="place B"))]))
    assert [card.says("place A") for card in cards] == [True, False]


def test_markup_in_a_text_is_printed_as_text(library):
    (card,) = halves(cards_pdf([drill_of(library, name="<b>Bold</b> & <script>")]))
    assert card.says("<b>Bold</b> & <script>")


@pytest.mark.parametrize(
    "texts",
    [
        {"cues": [" ".join([COMPOUND] * 30), "Feet level", "Up together"]},
        {"set_up": " ".join([COMPOUND] * 30)},
        {"safety": [" ".join([COMPOUND] * 15), COMPOUND * 6]},
        {"runs": [COMPOUND] * 6, "one_more": COMPOUND * 3, "faults": [{"fault": COMPOUND, "fix": COMPOUND}] * 3},
    ],
    ids=["a cue of thirty words", "a set-up of thirty words", "safety notes without blanks", "every line a word"],
)
def test_overlong_texts_shrink_and_are_neither_cut_nor_spilt(library, texts):
    drill = drill_of(library)
    for name, value in texts.items():
        setattr(drill, name, value)
    other, card = halves(cards_pdf([drill_of(library, number=8), drill]))
    words = [value if isinstance(value, str) else item for value in texts.values() for item in value]
    printed = [word for word in words if isinstance(word, str) and len(word) > 1]
    assert [word for word in printed if not card.says(word)] == []
    assert min(y for _x, y, _size, _text in card.pieces) > MARGIN / 2
    # Half an em a letter is less than DejaVu needs for these words: a line that ran out of the card would show.
    assert max(x + len(text) * size * 0.45 for x, y, size, text in card.pieces if y > FOOT) < A5_WIDTH
    assert other.says("Rope and Cone")


def test_the_fullest_drill_that_passes_the_checks_fits_a_card(library):
    drill = {name: fullest(name, value) for name, value in entry(rung="SP4").items()}
    assert entry_faults(drill) == []
    assert faults(drill, VOCABULARY) == []
    (card,) = halves(cards_pdf([drill_of(library, **drill)]))
    texts = [text for text in drill.values() if isinstance(text, str)]
    texts += [*drill["runs"], *drill["cues"], *drill["safety"], *drill["questions"]]
    assert [text for text in texts if not card.says(text)] == []


def fullest(name, value):
    """As many entries as the schema allows, each as long as it allows."""
    spec = fields()[name]
    if name == "cues":
        return [f"{'w' * 9} {'w' * 9} {'w' * 9} {'w' * 9} {'w' * 9} {'w' * 9}{n}" for n in range(5)]
    if name == "faults":
        return [{"fault": filled(90, n), "fix": filled(110, n)} for n in range(3)]
    if "maxLength" in spec and name != "ladder":
        return filled(spec["maxLength"], name)
    if spec.get("items", {}).get("maxLength"):
        return [filled(spec["items"]["maxLength"], f"{name}{n}") for n in range(spec["maxItems"])]
    return value


def filled(length, start):
    return (f"{start} " + "moderately long words " * 30)[:length].strip().ljust(length, "x")


def test_a_text_that_fits_no_card_is_refused_by_its_name(library):
    drill = drill_of(library)
    drill.set_up = " ".join([COMPOUND] * 400)
    with pytest.raises(CardTooLong, match="#7 Rope and Cone does not fit a card: shorten its texts"):
        cards_pdf([drill])


def test_nothing_to_print_is_an_error_of_the_caller(db):
    with pytest.raises(ValueError, match="no card to print"):
        cards_pdf([])


def test_cards_ask_the_database_once_for_the_ladders(library, django_assert_num_queries):
    drills = [drill_of(library, number=n) for n in (1, 2)]
    with django_assert_num_queries(1):
        cards_pdf(drills)


def test_cards_pass_the_machine_checks_of_pdf_ua_that_there_are(library, tmp_path):
    """ISO 14289-1, as far as the pdfua package checks it: a part of the rules, no proof of the rest."""
    path = tmp_path / "cards.pdf"
    path.write_bytes(cards_pdf([drill_of(library)]))
    assert [str(finding) for finding in pdfua.validate(str(path)).findings] == []
