"""What stands on a sheet: questions, signs, kit counted by hand, squads, plans, books, refusals."""

import json
import shutil
from collections import Counter
from pathlib import Path

import pytest

import kb
from kb.errors import DrillkbError
from kb.facade import Library
from kb.handout.pdf import sheet_pdf
from kb.model import SheetOrder
from tests.handout.support import DAY, KIT, SQUADS, reader, squeezed
from tests.support import small_library


def test_a_question_has_fault_causes_and_the_drills_of_the_answer(starter: Library) -> None:
    """The part of a question is the answer to it: same fault, same causes with their checks, same drills in order."""
    answer = starter.ask("piking on vault landing", level=4, top=3)
    sheet = starter.handout(SheetOrder(questions=("piking on vault landing",), level=4, date=DAY))
    (part,) = sheet.parts
    assert part.title == answer.faults[0].name == sheet.title
    assert [(cause.name, cause.tell) for cause in part.causes] == [(c.name, c.tell) for c in answer.faults[0].causes]
    assert part.drills == tuple(drill.id for drill in answer.drills)
    assert [drill.ready_when for drill in sheet.drills] == [drill.ready_when for drill in answer.drills]


def test_pain_prints_the_sign_and_no_drill(starter: Library) -> None:
    """A stop-and-refer sign beside a real question: its part has the sign, and no drill came of it."""
    sheet = starter.handout(SheetOrder(questions=("her wrist hurts in handstand", "bent arms in the cast"), date=DAY))
    pain, cast = sheet.parts
    assert pain.sign is not None
    assert pain.drills == ()
    assert cast.drills
    assert {drill.id for drill in sheet.drills} == set(cast.drills)
    text = squeezed("".join(page.extract_text() for page in reader(sheet_pdf(sheet)).pages))
    assert squeezed(pain.sign.say) in text


@pytest.mark.parametrize("kind", ["clinic", "station", "pocket", "book"])
def test_only_pain_is_a_sheet_without_drills(starter: Library, kind: str) -> None:
    """Whatever kind is asked for, the page says stop and shows no drill."""
    sheet = starter.handout(SheetOrder(questions=("she landed on her neck and is dizzy",), kind=kind, date=DAY))  # type: ignore[arg-type]
    assert sheet.drills == ()
    text = " ".join("".join(page.extract_text() for page in reader(sheet_pdf(sheet)).pages).split())
    assert "STOP." in text
    assert "No drill is given for this" in text


def test_no_good_match_is_said(starter: Library) -> None:
    """Another world is said to be no match, and nothing is printed for it."""
    sheet = starter.handout(SheetOrder(questions=("best recipe for banana bread",), date=DAY))
    assert sheet.parts[0].title == "No good match"
    assert sheet.drills == ()


def test_a_drill_of_two_questions_is_printed_once(starter: Library) -> None:
    """The same question twice: two parts, each drill once."""
    sheet = starter.handout(SheetOrder(questions=("piking on vault landing",) * 2, date=DAY))
    assert sheet.parts[0].drills == sheet.parts[1].drills
    assert len(sheet.drills) == len(set(sheet.parts[0].drills))
    pages = [squeezed(page.extract_text()) for page in reader(sheet_pdf(sheet)).pages]
    for drill in sheet.drills:
        assert sum(squeezed(drill.ready_when) in page for page in pages) == 1


def test_kit_is_the_sum_of_the_cards(starter: Library) -> None:
    """Without sizes the totals are the cards' own lists added up, and the most of one card."""
    names = ("vault-low-stack-flat-back", "vault-raised-stack-flat-back", "vault-tall-fall")
    cards = [starter.card(name) for name in names]
    together: Counter[str] = Counter()
    most: Counter[str] = Counter()
    for card in cards:
        for piece in card.equipment:
            together[piece.item] += piece.count
            most[piece.item] = max(most[piece.item], piece.count)
    sheet = starter.handout(SheetOrder(cards=names, date=DAY))
    equipment = starter.vocabulary.equipment
    assert {line.name: (line.together, line.most) for line in sheet.kit} == {
        equipment[item].name: (count, most[item]) for item, count in together.items()
    }
    assert all(line.owned is None for line in sheet.kit)


def test_kit_to_size_is_what_is_built(starter: Library) -> None:
    """110 cm at Larkmoor: a 12 cm mat and the soft mat (DEVELOPERS.md, by hand), not the card's 20 cm mat."""
    sheet = starter.handout(SheetOrder(cards=("vault-tall-fall",), height=110, level=3, kit=KIT, date=DAY))
    (drill,) = sheet.drills
    assert {piece.item: piece.count for piece in drill.kit} == {"landing-mat-12": 1, "soft-mat-30": 1, "beanbag": 1}
    (build,) = drill.builds
    assert build.sizes[0].build.startswith("landing mat 12 cm + soft mat 30 cm = 42 cm")
    assert "110 cm" in drill.drawn_for
    assert {line.name: line.owned for line in sheet.kit}["Landing mat 12 cm"] == 4
    assert sheet.club == "Larkmoor Gymnastics Club"


def test_a_squad_has_its_builds_and_no_names(starter: Library) -> None:
    """The builds are those of `size --squad`; children are squad and number; the squad's level is taken."""
    sheet = starter.handout(SheetOrder(cards=("vault-tall-fall",), squad=SQUADS, group="Slate", kit=KIT, date=DAY))
    found = starter.squad_size("vault-tall-fall", SQUADS, group="Slate", kit=starter.kit_list(KIT))
    (drill,) = sheet.drills
    assert len(drill.builds) == len(found.builds)
    assert drill.builds[0].children.startswith("Slate 1, 2, ")
    assert "Level 4" in sheet.for_whom


def test_a_ladder_as_poster_and_as_clinic(starter: Library) -> None:
    """The poster has every rung with its picture; the clinic sheet has the drills of the rungs."""
    ladder = starter.ladder("kip", level=4)
    poster = starter.handout(SheetOrder(ladder="kip", level=4, date=DAY))
    assert poster.kind == "ladder"
    assert [rung.drill for rung in poster.parts[0].rungs] == [rung.card for rung in ladder.rungs]
    assert [rung.rung for rung in poster.parts[0].rungs if rung.start] == [ladder.start]
    assert all(rung.picture.startswith("<svg") for rung in poster.parts[0].rungs)
    clinic = starter.handout(SheetOrder(ladder="kip", level=4, kind="clinic", date=DAY))
    assert [drill.id for drill in clinic.drills] == [rung.card for rung in ladder.rungs]


def test_a_fault_begins_with_the_first_cards_of_its_causes(starter: Library) -> None:
    """Causes with checks, and drills that name the fault, those of `first` in front."""
    fault = starter.vocabulary.faults["vault-pike-before-landing"]
    sheet = starter.handout(SheetOrder(fault=fault.id, date=DAY))
    firsts = [card for cause in fault.causes for card in cause.first]
    assert sheet.drills[0].id == firsts[0]
    assert all(fault.id in {use.fault for use in starter.card(drill.id).corrects} for drill in sheet.drills)


def test_a_plan_prints_rotation_and_stations(starter: Library, tmp_path: Path) -> None:
    """A plan in the promised JSON: every turn a line, every card once."""
    turns = [
        {"group": "Slate", "event": "vault", "card": "vault-tall-fall", "coach": "coach 1"},
        {"group": "Amber", "event": "beam", "card": "beam-toe-then-turn", "coach": "coach 2"},
    ]
    slots = [
        {"slot": n, "start": f"17:{n:02}", "minutes": 12, "rotation": turns[::step]} for n, step in ((1, 1), (13, -1))
    ]
    path = tmp_path / "plan.json"
    path.write_text(json.dumps({"status": "optimal", "bound": 0, "objective": 0, "slots": slots, "clashes": []}))
    sheet = starter.handout(SheetOrder(plan=path, date=DAY))
    assert [turn.who for turn in sheet.parts[0].turns] == ["Slate", "Amber", "Amber", "Slate"]
    assert [drill.id for drill in sheet.drills] == ["vault-tall-fall", "beam-toe-then-turn"]
    assert "17:13 (12 min)" in reader(sheet_pdf(sheet)).pages[0].extract_text()


def test_book_has_every_open_card_and_its_index_every_link(starter: Library) -> None:
    """Counted anew from the cards: who is in the book of an event at a level, and under which fault, skill and kit."""
    sheet = starter.handout(SheetOrder(event="beam", level=3, date=DAY))
    cards = [starter.card(name) for name in starter.index.card_ids]
    mine = [card for card in cards if card.event == "beam" and card.fits_level(3)]
    assert [drill.id for drill in sheet.drills] == [card.id for card in mine]
    words = starter.vocabulary
    for group, keys, names in (
        ("By fault", lambda card: {use.fault for use in card.corrects}, words.faults),
        ("By skill", lambda card: set(card.skills), words.skills),
        ("By kit", lambda card: {piece.item for piece in card.equipment}, words.equipment),
    ):
        (found,) = [one for one in sheet.indexes if one.title == group]
        pairs = {(line.name, drill) for line in found.lines for drill in line.drills}
        assert pairs == {(names[key].name, card.id) for card in mine for key in keys(card)}  # type: ignore[no-untyped-call]


def test_version_follows_the_words_of_the_library(tmp_path: Path) -> None:
    """The same library has the same version wherever it lies; one word more gives another."""
    first = small_library(tmp_path / "one")
    second = Path(shutil.copytree(first, tmp_path / "two" / "elsewhere"))
    assert kb.open_library(first).index.version == kb.open_library(second).index.version
    card = sorted(second.glob("*/*.md"))[0]
    card.write_text(card.read_text("utf-8").replace("## Set up\n", "## Set up\nTurn the mat. ", 1), "utf-8")
    assert kb.open_library(first).index.version != kb.open_library(second).index.version


@pytest.mark.parametrize(
    ("order", "says"),
    [
        (SheetOrder(), "--cards"),
        (SheetOrder(kind="station"), "station"),
        (SheetOrder(kind="ladder", cards=("vault-tall-fall",)), "--ladder"),
        (SheetOrder(cards=("vault-tal-fall", "x")), "vault-tall-fall"),
        (SheetOrder(fault="vault-pike"), "fault"),
        (SheetOrder(ladder="no such skill at all"), "skill or card"),
        (SheetOrder(event="valt"), "vault"),
        (SheetOrder(cards=("vault-tall-fall",), level=23), "from 1 to 7"),
        (SheetOrder(cards=("vault-tall-fall",), height=60), "from 95 to 180"),
        (SheetOrder(cards=("vault-tall-fall",), group="Slate"), "--squad"),
        (SheetOrder(cards=("vault-tall-fall",), squad=SQUADS, group="Slat"), "Slate"),
        (SheetOrder(cards=("vault-tall-fall",), date="5 November"), "YYYY-MM-DD"),
        (SheetOrder(cards=("vault-tall-fall",), link="javascript:alert(1)"), "http"),
        (SheetOrder(cards=("vault-tall-fall",), kit=Path("nowhere.yaml")), "nowhere.yaml"),
        (SheetOrder(plan=Path("nowhere.json")), "nowhere.json"),
        (SheetOrder(plan=SQUADS), "no plan in JSON"),
    ],
)
def test_refusals_say_what_to_do(starter: Library, order: SheetOrder, says: str) -> None:
    """Each refusal is an error of the program with the remedy in it."""
    with pytest.raises(DrillkbError, match=says):
        starter.handout(order)


def test_unwritable_files_are_refused(starter: Library, tmp_path: Path) -> None:
    """Another ending, and a folder that is not there."""
    sheet = starter.handout(SheetOrder(cards=("vault-tall-fall",), date=DAY))
    with pytest.raises(DrillkbError, match=r"\.pdf, \.html or \.md"):
        starter.write_handout(sheet, tmp_path / "a.docx")
    for name in ("a.pdf", "a.html", "a.md"):
        with pytest.raises(DrillkbError, match="cannot be written"):
            starter.write_handout(sheet, tmp_path / "nowhere" / name)
