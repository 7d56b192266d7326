"""The picture of a card."""

from kb.draw.layout import compose
from kb.draw.picture import to_svg
from kb.draw.scene import build_scene
from kb.model import Card, Vocabulary


def card_svg(card: Card, words: Vocabulary, child: float | None = None) -> str | None:
    """Return the card's figure as SVG, drawn for a child of `child` cm; None when it has none.

    Raises SceneError when the figure names what there is not.
    """
    if card.figure is None:
        return None
    scene = build_scene(card.figure, words.poses, words.equipment, child)
    return to_svg(compose(scene, card.title, describe(card, words)))


def describe(card: Card, words: Vocabulary) -> str:
    """Return in words what the picture shows, for those who cannot see it."""
    figure = card.figure
    if figure is None:
        return ""
    steps = []
    for number, moment in enumerate(figure.moments, start=1):
        name = words.poses[moment.pose].name.lower()
        wrong = "the fault, dashed: " if moment.dashed else ""
        steps.append(f"{number}. {wrong}{name}" if len(figure.moments) > 1 else f"{wrong}{name}")
    kit = ", ".join(
        dict.fromkeys(words.equipment[stand.item].name.lower() for stand in figure.kit if stand.label != "")
    )
    hands = f" A coach's hands are on her {', '.join(hand.part for hand in figure.hands)}." if figure.hands else ""
    return f"{figure.view.capitalize()} view. {'; '.join(steps)}.{f' Kit: {kit}.' if kit else ''}{hands}"
