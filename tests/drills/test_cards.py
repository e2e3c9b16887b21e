"""Cards on paper, read back from the PDF itself with pypdf."""

import datetime as dt
import io
import re
from dataclasses import dataclass

import pdfua
import pypdf
import pytest
from django.db import transaction
from django.test import override_settings
from django.urls import reverse

from drills.actions import add_drill, add_starter_library, starter_entries
from drills.cards import Card, CardNight, CardTooLong, CardUnprintable, Name, Size, address_of, cards_pdf
from drills.core.pack import faults
from drills.core.paper import PAPERS
from drills.models import Drill
from drills.schema import entry_faults, fields
from shared import printing
from shared.typefaces import width
from tests import factories as f
from tests.drills.packs import VOCABULARY, entry

pytestmark = pytest.mark.django_db  # the sixty cards are made once, for tests that ask for nothing else
DAY = dt.date(2026, 10, 6)
SITE = "https://plumbline.example"
COMPOUND = "Donaudampfschifffahrtskapitänsmützen"


@dataclass
class Printed:
    """One card of the print: its words run together, and where its pieces of text begin (pt from its bottom left)."""

    text: str
    pieces: list[tuple[float, float, float, str]]

    def says(self, words: str) -> bool:
        return squeezed(words) in self.text


def squeezed(text: str) -> str:
    """Without blanks: where lines break is the printer's business."""
    return re.sub(r"\s+", "", text)


def pages(pdf: bytes):
    return pypdf.PdfReader(io.BytesIO(pdf)).pages


def cards_of(pdf: bytes, size: Size = Size.A5) -> list[Printed]:
    """Each card by what is printed within its rectangle, row by row; all text is within one of them."""
    return [card for page in pages(pdf) for card in cards_of_page(page, PAPERS[size]) if card.pieces]


def cards_of_page(page, on) -> list[Printed]:
    pieces: list[tuple[float, float, float, str]] = []

    def note(text, cm, tm, font, size):
        if text.strip():
            x, y = tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5]
            pieces.append((x, y, size * abs(tm[0] * cm[0]), text.strip("\n")))

    page.extract_text(visitor_text=note)
    rectangles = [(i * on.width, (on.down - 1 - j) * on.height) for j in range(on.down) for i in range(on.across)]
    found = []
    for left, bottom in rectangles:
        own = [
            (x - left, y - bottom, size, text)
            for x, y, size, text in pieces
            if left <= x < left + on.width and bottom <= y < bottom + on.height
        ]
        found.append(Printed(squeezed("".join(text for *_place, text in own)), own))
    assert sum(len(card.pieces) for card in found) == len(pieces)
    return found


def size_of_print(card: Printed, text: str) -> float:
    """Of the line that begins a text; other lines of the card may begin with the same word in smaller type."""
    begins = [
        size
        for *_at, size, piece in card.pieces
        for start in (piece, re.sub(r"^\s*[0-9•]\s*", "", piece))
        if len(start) > 3 and squeezed(text).startswith(squeezed(start))
    ]
    return max(begins)


def stands_in(piece: str, texts: list[str]) -> bool:
    """Whether a piece of print is a line of one of the texts, and not just a word that they share with others."""
    return len(piece) > 12 and any(squeezed(piece).removeprefix("•") in squeezed(text) for text in texts)


@pytest.fixture(autouse=True)
def nothing_kept_from_before(settings, tmp_path):
    settings.VAR_DIR = tmp_path


def drill_of(club, **changes):
    """A row past every check, so that cards meet texts that no form would let through."""
    texts = {name: value for name, value in changes.items() if name not in entry()}
    drill = add_drill(club, entry(**{k: v for k, v in changes.items() if k in entry()}), by="somebody", today=DAY)
    Drill.objects.filter(pk=drill.pk).update(**texts)
    return Drill.objects.for_card().get(pk=drill.pk)


@pytest.fixture(scope="module")
def library_of_sixty(django_db_setup, django_db_blocker):
    """The drills of the starter library, with a drawing on those that have none yet."""
    with django_db_blocker.unblock(), transaction.atomic():
        club = f.ClubFactory(name="Brackenford RFC", slug="printing")
        add_starter_library(club, by="somebody", today=DAY)
        drills = list(Drill.objects.of(club).for_card())
        yield [drawn_on(drill) for drill in drills]
        transaction.set_rollback(True)


def drawn_on(drill: Drill) -> Drill:
    drill.diagram = drill.diagram or DRAWN
    return drill


DRAWN = {
    "format": "plumbline-diagram/1",
    "area": {"width": 20, "length": 15},
    "pitch": None,
    "frames": [
        {
            "note": "Ball lifts",
            "objects": [
                {"id": "a1", "kind": "attacker", "x": 8, "y": 12, "label": "9"},
                {"id": "d1", "kind": "defender", "x": 8, "y": 4, "label": "7"},
            ],
            "paths": [
                {"kind": "run", "from": "d1", "points": [[8, 10]], "order": 1, "hang": None, "label": ""},
            ],
        }
    ],
}


@pytest.fixture(scope="module")
def prints(library_of_sixty, tmp_path_factory):
    """The sixty cards in each size, printed once."""
    with override_settings(VAR_DIR=tmp_path_factory.mktemp("var")):
        return {size: cards_pdf(library_of_sixty, size=size, site=SITE) for size in Size}


@pytest.fixture(scope="module", params=list(Size))
def starter(request, prints, library_of_sixty):
    """The paper, and each drill of the library with its card."""
    size = request.param
    return PAPERS[size], list(zip(library_of_sixty, cards_of(prints[size], size), strict=True))


def always(drill: Drill) -> list[str]:
    """What a coach needs on the grass: on every card, whatever its size."""
    texts = [drill.name, drill.set_up, drill.trigger, drill.ends, *drill.runs, *drill.cues, *drill.safety]
    return [*texts, f"{drill.rung} {drill.rung_name}", f"version {drill.version} of 6 Oct 2026"]


def at_home(drill: Drill) -> dict[str, list[str]]:
    """What may be left to a larger card, by the name under which the card then lists it."""
    return {
        "work and rest": [drill.work_rest],
        "purpose": [drill.purpose],
        "good enough": [drill.success],
        "faults": [text for pair in drill.faults for text in pair.values()],
        "coach's place": [drill.coach_place],
        "sets": [drill.sets],
        "easier": [drill.easier],
        "harder": [drill.harder],
        "one more or fewer": [drill.one_more, drill.one_fewer],
        "shape": [drill.group_shape],
        "questions": drill.questions,
        "for whom": [drill.training_age],
        "skills": [share.skill.name for share in drill.skill_shares.all()],
    }


def test_each_starter_card_holds_what_is_needed_on_the_grass(starter):
    _on, cards = starter
    assert len(cards) == 60
    for entry_, (drill, card) in zip(starter_entries(), cards, strict=True):
        assert [text for text in always(drill) if not card.says(text)] == [], drill
        assert drill.number == entry_["number"]
        assert card.says(f"{SITE}/c/printing/drills/{drill.number}/")


def test_what_a_starter_card_leaves_to_a_larger_one_it_names(starter):
    on, cards = starter
    for drill, card in cards:
        left = {name for name, texts in at_home(drill).items() if not all(card.says(text) for text in texts)}
        if on.name == "a4":
            assert left == set(), drill
        elif on.name == "a5":
            told = card.text.partition(squeezed("More on the A4 card:"))[2]
            assert [name for name in left if squeezed(name) not in told] == [], drill
        elif left:
            assert re.search(r"MoreontheA5card:[0-9]+lines", card.text), drill


def test_each_starter_card_stays_within_its_edges(starter):
    """Its words begin within its margins; how wide they are has been reckoned and is looked at below."""
    on, cards = starter
    for drill, card in cards:
        assert min(y for _x, y, _size, _text in card.pieces) > on.margin - 1, drill
        assert max(y for _x, y, _size, _text in card.pieces) < on.height - on.margin, drill
        assert min(x for x, *_rest in card.pieces) > on.margin - 1, drill
        assert max(x for x, *_rest in card.pieces) < on.width - on.margin, drill


def test_no_line_of_a_starter_card_is_wider_than_the_card(starter):
    on, cards = starter
    for drill, card in cards:
        for x, _y, size, text in card.pieces:
            assert x + width(text.rstrip()) * size < on.width - on.margin / 2, (drill, text)


def test_no_words_of_a_starter_card_reach_into_its_foot(starter):
    """The address stands in the foot: what is printed lower is the foot's, and only that."""
    _on, cards = starter
    for drill, card in cards:
        foot = next(y for _x, y, _size, text in card.pieces if text.startswith("https://"))
        lower = squeezed("".join(text for _x, y, _size, text in card.pieces if y < foot - 1))
        assert not lower or lower.startswith("MoreontheA"), drill


def test_each_starter_card_from_c1_up_prints_its_safety_box(starter):
    _on, cards = starter
    for drill, card in cards:
        parts = ["“Freeze” stops the drill", f"not cleared for {drill.rung}, {drill.rung_name.lower()}"]
        parts += ["head to the side", "Your union's regulations and medical staff decide; this card does not."]
        assert [card.says(part) for part in parts] == [drill.rung != "C0"] * 4, drill
        assert card.says("Ask aloud before the first whistle") == (drill.rung in {"C4", "SP3", "SP4"}), drill


# Smallest type in pt: cues, then steps and safety notes, then everything. Small letters of DejaVu Sans are a fifth
# taller than those of a book face (x-height 0.55 of the size against 0.45): 9.8 pt stands for 12 pt.
SMALLEST = {"a4": (12, 9.6, 8), "a5": (11, 9.2, 7.3), "a6": (8.5, 7.3, 6.3)}


def test_what_is_read_at_arms_length_is_large_on_each_starter_card(starter):
    on, cards = starter
    cues, steps, any_ = SMALLEST[on.name]
    for drill, card in cards:
        smallest = {
            part: min(size_of_print(card, text) for text in texts)
            for part, texts in {"cues": drill.cues, "runs": drill.runs, "safety": drill.safety}.items()
        }
        assert smallest["cues"] >= cues, drill
        assert min(smallest["runs"], smallest["safety"]) >= steps, drill
        drawn = squeezed(" ".join(path["label"] for frame in drill.diagram["frames"] for path in frame["paths"]))
        assert min(size for _x, _y, size, text in card.pieces if squeezed(text) not in drawn) >= any_, drill


def test_a_card_is_read_from_its_name_to_its_foot(starter):
    """The order of the text in the file, which is the order in which it is read out."""
    _on, cards = starter
    for drill, card in cards:
        parts = [drill.name, drill.set_up, drill.trigger, *drill.runs, *drill.cues, *drill.safety, "https://"]
        place = 0
        for part in parts:
            place = card.text.find(squeezed(part), place)
            assert place >= 0, (drill, part)


@pytest.mark.parametrize(("size", "sheets"), [(Size.A4, 60), (Size.A5, 30), (Size.A6, 15)])
def test_sixty_cards_fill_so_many_sheets_of_a4(prints, size, sheets):
    found = pages(prints[size])
    assert len(found) == sheets
    a4 = (842, 595) if size == Size.A5 else (595, 842)  # pt, ISO 216: 210 x 297 mm
    assert {tuple(round(float(edge)) for edge in page.mediabox) for page in found} == {(0, 0, *a4)}


def test_sixty_a6_cards_with_their_drawings_are_less_than_a_megabyte(prints):
    assert len(prints[Size.A6]) < 1024 * 1024


@pytest.mark.parametrize(("size", "marks"), [(Size.A4, 0), (Size.A5, 2), (Size.A6, 6)])
def test_the_cuts_are_marked_and_no_screen_reader_hears_of_them(prints, size, marks):
    """Two marks on a single cut; with two cuts, four at the edges of the sheet and two where they cross."""
    content = pages(prints[size])[0].get_contents().get_data().decode("latin-1")
    first = content.index("BDC")
    background = content[:first] if marks == 0 else re.search(r"/Artifact.*?EMC", content, re.DOTALL)[0]
    nine_millimetres = re.findall(r"0 0 m\s+(?:25\.51\d* 0|0 25\.51\d*) l", background)
    assert len(nine_millimetres) == marks


def test_a_card_names_its_rung_its_share_and_its_version(library):
    drill = drill_of(library, version=3, revised_on=dt.date(2026, 11, 2))
    (card,) = cards_of(cards_pdf([drill]))
    assert card.says("C3 Controlled")
    assert card.says("controlled, 30 % of the time")
    assert card.says("#7 · version 3 of 2 Nov 2026 · Brackenford RFC")
    (card,) = cards_of(cards_pdf([drill], size=Size.A4), Size.A4)
    assert card.says("Skill I04 60 %, Skill U01 40 % (HB)")


def test_a_card_names_the_cards_below_and_above_on_its_ladder(library):
    drill_of(library, number=1, name="Lower", step=0, rung="C0", contact_share=0, contacts={"least": 0, "most": 0})
    drill_of(library, number=3, name="Higher", step=4)
    (card,) = cards_of(cards_pdf([drill_of(library)]))
    assert card.says("Ladder A, step 3 ↓ #1 Lower ↑ #3 Higher")


def test_cards_keep_their_order_two_to_a_page(library):
    drills = [drill_of(library, number=n, name=f"Drill no {n}") for n in (3, 1, 2)]
    pdf = cards_pdf(drills)
    assert [card.says(f"{n}Drill no {n}") for card, n in zip(cards_of(pdf), (3, 1, 2), strict=True)] == [True] * 3
    assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) == 2


def test_a_card_for_tonight_names_time_place_coach_and_players_with_nc_beside_a_name(library):
    night = CardNight("19:20, 12 min", "place B", "A. Wren", (Name("O. Pike"), Name("S. Lark", nc=True)))
    (card,) = cards_of(cards_pdf([Card(drill_of(library), night)]))
    assert card.says("19:20, 12 min · place B · Coach A. Wren")
    assert card.says("O. Pike, S. Lark NC")


def test_the_same_drill_may_stand_on_two_cards_of_a_night(library):
    drill = drill_of(library)
    cards = cards_of(cards_pdf([Card(drill, CardNight(place="place A")), Card(drill, CardNight(place="place B"))]))
    assert [card.says("place A") for card in cards] == [True, False]


def test_markup_in_a_text_is_printed_as_text(library):
    (card,) = cards_of(cards_pdf([drill_of(library, name="<b>Bold</b> & <script>")]))
    assert card.says("<b>Bold</b> & <script>")


@pytest.mark.parametrize("size", list(Size))
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
def test_overlong_texts_shrink_and_are_neither_cut_nor_spilt(library, texts, size):
    drill = drawn_on(drill_of(library))
    for name, value in texts.items():
        setattr(drill, name, value)
    other, card = cards_of(cards_pdf([drill_of(library, number=8), drill], size=size), size)
    needed = [
        text for name, value in texts.items() if name in ALWAYS for text in ([value] if name == "set_up" else value)
    ]
    assert [text for text in needed if not card.says(text)] == []
    on = PAPERS[size]
    assert min(y for _x, y, _size, _text in card.pieces) > on.margin - 1
    assert max(x for x, *_rest in card.pieces) < on.width - on.margin
    assert other.says("Rope and Cone")


ALWAYS = {"cues", "set_up", "safety", "runs"}


@pytest.mark.parametrize("size", list(Size))
def test_the_fullest_drill_that_passes_the_checks_fits_a_card(library, size):
    drill = {name: fullest(name, value) for name, value in entry(rung="SP4").items()}
    assert entry_faults(drill) == []
    assert faults(drill, VOCABULARY) == []
    (card,) = cards_of(cards_pdf([drawn_on(drill_of(library, **drill))], size=size), size)
    texts = [drill["name"], drill["set_up"], drill["trigger"], drill["ends"]]
    texts += [*drill["runs"], *drill["cues"], *drill["safety"]]
    if size == Size.A4:
        texts += [text for text in drill.values() if isinstance(text, str)] + drill["questions"]
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
    drill.set_up = " ".join([COMPOUND] * 2000)
    with pytest.raises(CardTooLong, match="#7 Rope and Cone does not fit a card: shorten its texts"):
        cards_pdf([drill])


def test_a_letter_that_no_font_has_is_refused_by_the_name_of_its_card(library):
    drills = [drill_of(library), drill_of(library, number=8, name="Rope \ue123 Cone")]
    with pytest.raises(CardUnprintable, match="“\ue123”: take it out of #8 Rope"):
        cards_pdf(drills)


def test_a_card_that_was_reckoned_too_low_is_set_again_with_less_room(library, monkeypatch):
    """As if all letters were a fifth narrower than they are: the print itself shows it and is not let through."""
    drill = drawn_on(drill_of(library, purpose=("A purpose of some words. " * 9).strip()))
    right = cards_of(cards_pdf([drill], size=Size.A6), Size.A6)[0]
    refused = []
    typeset = printing.typeset

    def watched(*what):
        try:
            return typeset(*what)
        except printing.Overfull as error:
            refused.append(error.past)
            raise

    monkeypatch.setattr("drills.cards.typeset", watched)
    monkeypatch.setattr("drills.cards.width", lambda text, bold: width(text, bold) * 0.8)
    monkeypatch.setattr("drills.cards.kept", lambda ingredients, make: make())
    (card,) = cards_of(cards_pdf([drill], size=Size.A6), Size.A6)
    assert refused
    assert all(past[1] > 0 for past in refused)
    assert [text for text in always_but_date(drill) if not card.says(text)] == []
    assert min(y for _x, y, _size, _text in card.pieces) == pytest.approx(
        min(y for _x, y, _size, _text in right.pieces), abs=8
    )


def always_but_date(drill: Drill) -> list[str]:
    return always(drill)[:-1]


def test_a_pack_is_printed_again_only_when_one_of_its_drills_has_changed(library, monkeypatch):
    drills = [drill_of(library, number=n) for n in (1, 2, 3)]
    made = []
    monkeypatch.setattr("drills.cards.typeset", lambda *what: made.append(1) or printing.typeset(*what))
    first = cards_pdf(drills)
    assert cards_pdf(drills) == first
    assert len(made) == 1
    drills[1].cues = [*drills[1].cues[:-1], "Something else"]
    second = cards_pdf(drills)
    assert len(made) == 2
    assert second != first
    assert [card.says("Something else") for card in cards_of(second)] == [False, True, False]


@pytest.mark.parametrize("change", ["size", "site", "title", "engine", "drawing"])
def test_whatever_goes_into_a_print_is_part_of_its_name(library, monkeypatch, change):
    drill = drill_of(library)
    made = []
    monkeypatch.setattr("drills.cards.printed", lambda pack: made.append(pack) or b"x")
    cards_pdf([drill])
    if change == "engine":
        monkeypatch.setattr("shared.printing.version", lambda name: "99")
    if change == "drawing":
        drill.diagram = DRAWN
    other = {"size": {"size": Size.A6}, "site": {"site": SITE}, "title": {"title": "Other"}}
    cards_pdf([drill], **other.get(change, {}))
    assert len(made) == 2


def test_the_address_on_a_card_is_that_of_its_page(library):
    drill = drill_of(library)
    path = reverse("drill", args=[library.slug, drill.number])
    assert address_of(drill, SITE) == address_of(drill, f"{SITE}/") == SITE + path


def test_the_code_of_a_card_is_the_address_of_its_page(library):
    """Read back module by module: the code's SVG is drawn again as the matrix that segno makes of the address."""
    import segno

    from drills.faces import qr_codes

    first, second = f"{SITE}/c/x/drills/1/", f"{SITE}/c/x/drills/2/"
    mask = segno.make(first, error="l", micro=False).mask
    for address, svg in zip((first, second), qr_codes([first, second]), strict=True):
        matrix = segno.make(address, error="l", micro=False, mask=mask).matrix
        assert dark_modules(svg) == {(x + 4, y + 4) for y, row in enumerate(matrix) for x, on in enumerate(row) if on}


def dark_modules(svg: str) -> set[tuple[int, int]]:
    """Where the pen of the only path draws: m moves, h draws to the right; rows lie half a module down."""
    x, y, dark = 0.0, 0.0, set()
    for step, a, b in re.findall(r"([Mmh])\s?(-?[0-9.]+)(?:[ ,](-?[0-9.]+))?", re.search(r' d="([^"]+)"', svg)[1]):
        if step == "h":
            dark |= {(int(x) + i, int(y)) for i in range(int(a))}
            x += int(a)
        else:
            x, y = (float(a), float(b)) if step == "M" else (x + float(a), y + float(b))
    return dark


def test_nothing_to_print_is_an_error_of_the_caller(db):
    with pytest.raises(ValueError, match="no card to print"):
        cards_pdf([])


def test_cards_ask_the_database_once_for_the_ladders(library, django_assert_num_queries):
    drills = [drill_of(library, number=n) for n in (1, 2)]
    with django_assert_num_queries(1):
        cards_pdf(drills)


@pytest.mark.parametrize("size", list(Size))
def test_cards_pass_the_machine_checks_of_pdf_ua_that_there_are(prints, size, tmp_path):
    """ISO 14289-1, as far as the pdfua package checks it: a part of the rules, no proof of the rest. The engine
    refuses by itself what it knows to break the standard."""
    path = tmp_path / "cards.pdf"
    path.write_bytes(prints[size])
    assert [str(finding) for finding in pdfua.validate(str(path)).findings] == []


def test_a_diagram_is_told_in_words(library):
    reader = pypdf.PdfReader(io.BytesIO(cards_pdf([drawn_on(drill_of(library))])))
    told = [node["/Alt"] for node in nodes(reader.root_object["/StructTreeRoot"]) if "/Alt" in node]
    assert told == [
        "Diagram: Ball lifts. An area of 20 by 15 m. 1 attacker: 9. 1 defender: 7. " + told[0].partition("7. ")[2],
        "Code that leads to this card on the site",
    ]
    assert "defender 7 runs" in told[0].lower()


def nodes(node):
    kids = node.get("/K", []) if isinstance(node, dict) else []
    for kid in kids if isinstance(kids, list) else [kids]:
        kid = kid.get_object()
        if isinstance(kid, dict) and "/S" in kid:
            yield kid
            yield from nodes(kid)


def test_a_card_without_a_diagram_has_no_hole(library):
    drill = drill_of(library)
    with_drawing = cards_of(cards_pdf([drawn_on(drill_of(library, number=8))]))[0]
    (without,) = cards_of(cards_pdf([drill]))
    assert max(size for *_rest, size, _text in without.pieces) >= max(size for *_r, size, _t in with_drawing.pieces)
    highest_step = max(y for _x, y, _size, text in without.pieces if stands_in(text, drill.runs))
    assert highest_step > PAPERS["a5"].height * 0.6
