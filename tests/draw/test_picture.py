"""Pictures: well-formed, readable by a screen reader, nothing fetched, words that do not overlap."""

import xml.etree.ElementTree as ET
from itertools import combinations
from pathlib import Path

import msgspec
import pytest

from kb.draw.card import card_svg, describe
from kb.draw.checks import card_figure_problems
from kb.draw.layout import Label, compose, text_problems
from kb.draw.place import circles
from kb.draw.scene import build_scene
from kb.library import load_collection
from kb.model.figure import Figure
from tests.support import ROOT

LIBRARY = load_collection(ROOT / "drills")
WORDS = LIBRARY.vocabulary
DRAWN = {name: card for name, card in LIBRARY.cards.items() if card.figure}
SVG = "{http://www.w3.org/2000/svg}"


def test_every_card_has_a_figure() -> None:
    """The whole library can be built from its pictures."""
    assert sorted(set(LIBRARY.cards) - set(DRAWN)) == []


@pytest.mark.parametrize("name", DRAWN)
def test_no_figure_breaks_the_physics(name: str) -> None:
    """Touching parts on their surfaces, nothing inside the floor, joints human, words apart: for every card."""
    assert card_figure_problems(DRAWN[name], WORDS) == []


@pytest.mark.parametrize("name", DRAWN)
def test_every_picture_is_well_formed_and_says_what_it_shows(name: str) -> None:
    """An XML parser reads it; it has title and description; it fetches nothing."""
    svg = card_svg(DRAWN[name], WORDS)
    assert svg is not None
    tree = ET.fromstring(svg)  # noqa: S314 - our own text
    assert tree.findtext(f"{SVG}title") == DRAWN[name].title
    described = tree.findtext(f"{SVG}desc") or ""
    assert len(described) > 20
    assert "http" not in svg.replace("http://www.w3.org/2000/svg", "")
    assert not tree.findall(f".//{SVG}image")
    assert not tree.findall(f".//{SVG}style")


@pytest.mark.parametrize("name", [n for n, c in DRAWN.items() if c.spotting.grade == "hands-on"])
def test_hands_on_drills_show_the_hands(name: str) -> None:
    """The coach's hands are in the picture and in its description."""
    figure = DRAWN[name].figure
    assert figure is not None
    assert figure.hands
    assert "hands" in describe(DRAWN[name], WORDS)


@pytest.mark.parametrize("name", DRAWN)
def test_everything_is_inside_the_frame(name: str) -> None:
    """No part of a gymnast is cut off."""
    figure = DRAWN[name].figure
    assert figure is not None
    picture = compose(build_scene(figure, WORDS.poses, WORDS.equipment), "", "")
    left, bottom, right, top = picture.frame
    for placed in picture.scene.gymnasts:
        for x, y, r in circles(placed.body):
            assert left <= x - r
            assert x + r <= right
            assert bottom <= y - r
            assert y + r <= top


def test_overlapping_words_are_told() -> None:
    """Two labels at one place, and one beyond the edge, are found."""
    figure = msgspec.convert({"moments": [{"pose": "stand", "at": 0}]}, Figure)
    picture = compose(build_scene(figure, WORDS.poses, WORDS.equipment), "", "")
    left, bottom, _, _ = picture.frame
    labels = (Label("one word", 0, 50, 8), Label("another", 4, 52, 8), Label("far out", left, bottom + 5, 8))
    found = text_problems(picture._replace(labels=labels))
    assert any("lies over" in message for message in found)
    assert any("edge" in message for message in found)


def test_labels_of_many_pieces_stay_apart() -> None:
    """Five pieces side by side: their names go to as many rows as they need."""
    kit = [{"item": "landing-mat-20", "key": f"mat-{n}", "at": 40 * n, "long": 40} for n in range(5)]
    figure = msgspec.convert({"kit": kit, "moments": [{"pose": "stand", "at": 20, "on": "mat-0"}]}, Figure)
    picture = compose(build_scene(figure, WORDS.poses, WORDS.equipment), "", "")
    boxes = [label.box() for label in picture.labels]
    assert len(boxes) == 5
    for one, two in combinations(boxes, 2):
        assert one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]


def test_text_is_escaped() -> None:
    """A label with angle brackets stays text."""
    kit = [{"item": "soft-mat-20", "at": 0, "label": "<b>&mat"}]
    figure = msgspec.convert({"kit": kit, "moments": [{"pose": "stand", "at": 40, "on": "soft-mat-20"}]}, Figure)
    card = msgspec.structs.replace(next(iter(LIBRARY.cards.values())), figure=figure, title='A "<title>" & more')
    tree = ET.fromstring(card_svg(card, WORDS) or "")  # noqa: S314 - our own text
    assert tree.findtext(f"{SVG}title") == 'A "<title>" & more'
    assert "<b>&mat" in [text.text for text in tree.findall(f"{SVG}text")]


def test_a_child_of_another_height_is_drawn_to_her_size() -> None:
    """The same figure for 110 and 150 cm: the gymnast grows, the mat does not."""
    figure = msgspec.convert(
        {"kit": [{"item": "soft-mat-20", "at": 0}], "moments": [{"pose": "stand", "at": 40, "on": "soft-mat-20"}]},
        Figure,
    )
    tops = []
    for child in (110, 150):
        built = build_scene(figure, WORDS.poses, WORDS.equipment, child)
        assert built.pieces["soft-mat-20"].top == 20
        tops.append(max(y + r for _, y, r in circles(built.gymnasts[0].body)))
    assert tops[1] - tops[0] == pytest.approx(40, abs=3)


def test_png(tmp_path: Path) -> None:
    """A picture of print width in PNG: 7 cm at 300 dots an inch are 827 dots."""
    from kb.draw.png import picture_png

    svg = card_svg(next(iter(DRAWN.values())), WORDS)
    assert svg is not None
    content = picture_png(svg)
    assert content[:8] == b"\x89PNG\r\n\x1a\n"
    assert abs(int.from_bytes(content[16:20], "big") - 827) <= 2
    (tmp_path / "picture.png").write_bytes(content)
