"""Where everything of a picture goes: the frame, the numbers of the moments, the names of the kit."""

from collections.abc import Iterator
from typing import NamedTuple

from kb.draw.place import circles
from kb.draw.scene import Scene

TEXT = 0.034
"""Height of letters as a part of the picture's width: at 7 cm width about 6.7 points."""
LETTER = 0.54
"""Average width of a letter as a part of its height."""
MARGIN = 10.0
LEAST_WIDTH = 220.0

Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""


class Label(NamedTuple):
    """Words in the picture: the middle of their base line."""

    text: str
    x: float
    y: float
    size: float

    def box(self) -> Box:
        """Return the place that the words take."""
        half = len(self.text) * LETTER * self.size / 2
        return self.x - half, self.y - 0.2 * self.size, self.x + half, self.y + 0.75 * self.size


class Picture(NamedTuple):
    """What is drawn, before it is written as SVG."""

    scene: Scene
    title: str
    description: str
    frame: Box
    labels: tuple[Label, ...]


def compose(scene: Scene, title: str, description: str) -> Picture:
    """Work out the frame and the place of every word."""
    left, bottom, right, top = _bounds(scene)
    spare = max(0.0, LEAST_WIDTH - (right - left) - 2 * MARGIN) / 2
    left, right = left - MARGIN - spare, right + MARGIN + spare
    size = TEXT * (right - left)
    labels = [*_numbers(scene, size), *_kit_labels(scene, size, left, right)]
    lowest = min([bottom, *(label.y for label in labels)])
    highest = max([top, *(label.y + label.size for label in labels)])
    frame = (left, lowest - 0.5 * size, right, highest + 4)
    return Picture(scene, title, description, frame, tuple(labels))


def _bounds(scene: Scene) -> Box:
    spots = [spot for placed in scene.gymnasts for spot in circles(placed.body)]
    xs = [x + sign * r for x, _, r in spots for sign in (-1, 1)]
    ys = [y + r for _, y, r in spots]
    for piece in scene.pieces.values():
        if piece.shape == "wall":
            xs += [piece.left, piece.right]
            continue
        xs += [piece.left, piece.right]
        ys.append(piece.top)
    for arrow in scene.figure.arrows:
        xs += [arrow.start[0], arrow.end[0]]
        ys += [arrow.start[1], arrow.end[1]]
    return min(xs), 0.0, max(xs), max(ys) + 4


def _numbers(scene: Scene, size: float) -> Iterator[Label]:
    several = len(scene.gymnasts) > 1
    taken: list[Box] = []
    for number, placed in enumerate(scene.gymnasts, start=1):
        said = placed.moment.label or ""
        text = f"{number} {said}".strip() if several else said
        if not text:
            continue
        spots = list(circles(placed.body))
        high = max(y + r for _, y, r in spots)
        middle = (min(x for x, _, _ in spots) + max(x for x, _, _ in spots)) / 2
        label = Label(text, middle, high + 0.5 * size, size)
        while any(_overlap(label.box(), box) for box in taken):
            label = Label(text, label.x, label.y + 0.5 * size, size)
        taken.append(label.box())
        yield label


def _kit_labels(scene: Scene, size: float, left: float, right: float) -> Iterator[Label]:
    rows: list[list[Box]] = []
    for piece in sorted(scene.pieces.values(), key=lambda piece: piece.middle):
        if not piece.label:
            continue
        half = len(piece.label) * LETTER * size / 2
        x = min(max(piece.middle, left + half + 2), right - half - 2)
        row = 0
        while True:
            label = Label(piece.label, x, -(1.35 + 1.25 * row) * size, size)
            if row == len(rows):
                rows.append([])
            if not any(_overlap(label.box(), box, 0.4 * size) for box in rows[row]):
                break
            row += 1
        rows[row].append(label.box())
        yield label


def _overlap(one: Box, two: Box, space: float = 0.0) -> bool:
    return one[0] < two[2] + space and two[0] < one[2] + space and one[1] < two[3] and two[1] < one[3]


def text_problems(picture: Picture) -> list[str]:
    """Return a sentence for words that lie over one another or outside the frame."""
    found = []
    left, bottom, right, top = picture.frame
    for place, label in enumerate(picture.labels):
        box = label.box()
        found += [
            f"'{label.text}' lies over '{other.text}'"
            for other in picture.labels[place + 1 :]
            if _overlap(box, other.box())
        ]
        if box[0] < left - 0.5 or box[2] > right + 0.5 or box[1] < bottom - 0.5 or box[3] > top + 0.5:
            found.append(f"'{label.text}' goes over the edge of the picture; give a shorter label")
    return found
