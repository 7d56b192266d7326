"""Pictures at a child's size: the kit stands as it is built, and nobody hangs in the air."""

import pytest

from kb.draw.card import drawn_for
from kb.draw.scene import build_scene, scene_problems
from kb.facade import Library
from kb.size import figure_to_size
from tests.support import ROOT

LARKMOOR = ROOT / "drills" / "kits" / "larkmoor.yaml"


def test_the_picture_has_the_sizes(starter: Library) -> None:
    """The stack in the picture is as high as the stack that is built, and says so; the child is as tall as she is."""
    kit = starter.kit_list(LARKMOOR)
    card, words = starter.card("vault-tall-fall"), starter.vocabulary
    for height in (112, 128, 150):
        sizes = starter.size(card.id, height=height, kit=kit)
        figure = figure_to_size(card, sizes, words)
        assert figure is not None
        scene = build_scene(figure, words.poses, words.equipment, height)
        assert not scene_problems(scene)
        assert max(piece.top for piece in scene.pieces.values()) == pytest.approx(sizes.pieces[0].reached_cm)
        svg = starter.picture(card.id, sizes=sizes)
        assert f"Drawn for a child of {height} cm" in (svg or "")


def test_a_picture_that_cannot_be_drawn_says_for_whom_it_is(starter: Library) -> None:
    """Every card is drawn for a child of any height: at her sizes, or as the card has it and honest about it."""
    kit = starter.kit_list(LARKMOOR)
    at_size = 0
    names = [name for name in starter.index.card_ids if starter.card(name).size]
    for name in names:
        card = starter.card(name)
        sizes = starter.size(name, height=118, kit=kit)
        drawn = drawn_for(card, starter.vocabulary, sizes)
        assert drawn in (118, card.figure.child if card.figure else 0)
        at_size += drawn == 118
    assert at_size >= 0.75 * len(names)


def test_rails_and_mats_stand_as_built(starter: Library) -> None:
    """A rail is drawn at the height it is set to, over mats as high as they are built."""
    kit = starter.kit_list(LARKMOOR)
    card, words = starter.card("bars-four-beats-to-stick"), starter.vocabulary
    sizes = starter.size(card.id, height=128, kit=kit)
    figure = figure_to_size(card, sizes, words)
    assert figure is not None
    pieces = build_scene(figure, words.poses, words.equipment, 128).pieces
    rail = next(item for item in sizes.pieces[0].build if "set at" in item.form)
    assert pieces["single-rail"].top == rail.cm
    mats = sum(item.cm for item in sizes.pieces[0].build if item.above)
    assert pieces["soft-mat-10"].top == pytest.approx(mats)
