"""The picture of a card."""

from typing import NamedTuple

from kb.draw.layout import compose
from kb.draw.picture import to_svg
from kb.draw.scene import Scene, SceneError, build_scene, scene_problems
from kb.model import Card, Sizes, Vocabulary
from kb.size import figure_to_size


class Drawing(NamedTuple):
    """A card's picture."""

    svg: str
    says: str
    """What it shows, for those who cannot see it."""
    child_cm: float
    """Height of the child in it."""


def card_drawing(card: Card, words: Vocabulary, sizes: Sizes | None = None) -> Drawing | None:
    """Return the card's figure, its kit and the child at the given sizes; None when it has none.

    Where the figure cannot be drawn at those sizes (a hand would miss the rail) it is drawn as the card has it.
    Raises SceneError when the figure names what there is not.
    """
    if card.figure is None:
        return None
    scene, height = _scene(card, words, sizes)
    says = f"{describe(card, words)} Drawn for a child of {height:.0f} cm."
    return Drawing(to_svg(compose(scene, card.title, says)), says, height)


def card_svg(card: Card, words: Vocabulary, sizes: Sizes | None = None) -> str | None:
    """Return the card's figure as SVG, as `card_drawing` makes it."""
    drawing = card_drawing(card, words, sizes)
    return drawing.svg if drawing else None


def drawn_for(card: Card, words: Vocabulary, sizes: Sizes | None) -> float:
    """Return the height in cm of the child in the card's picture; 0 without one."""
    return _scene(card, words, sizes)[1] if card.figure else 0.0


def _scene(card: Card, words: Vocabulary, sizes: Sizes | None) -> tuple[Scene, float]:
    figure = card.figure
    if figure is None:
        raise SceneError(f"{card.id} has no figure")
    if sizes is not None and (sized := figure_to_size(card, sizes, words)) is not None:
        scene = build_scene(sized, words.poses, words.equipment, sizes.height_cm)
        if not scene_problems(scene):
            return scene, sizes.height_cm
    return build_scene(figure, words.poses, words.equipment), figure.child


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
