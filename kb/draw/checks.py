"""What is wrong with the figures of a library, as problems with file and line."""

from collections.abc import Mapping

from kb.draw.layout import compose, text_problems
from kb.draw.scene import SceneError, build_scene, scene_problems
from kb.model import Card, Problem, Vocabulary


def figure_problems(cards: Mapping[str, Card], words: Vocabulary) -> list[Problem]:
    """Return a problem for everything in a figure that no gymnast could do or no reader could read."""
    return [
        Problem(card.file, 0, "figure", message, keeps_out=False)
        for card in cards.values()
        for message in card_figure_problems(card, words)
    ]


def card_figure_problems(card: Card, words: Vocabulary) -> list[str]:
    """Return what is wrong with the figure of one card, a sentence each."""
    if card.figure is None:
        return []
    try:
        scene = build_scene(card.figure, words.poses, words.equipment)
    except SceneError as error:
        return [str(error)]
    return [*scene_problems(scene), *text_problems(compose(scene, card.title, ""))]
