"""A figure in words becomes a placed scene, with everything that is wrong with it."""

import math
from collections.abc import Iterator, Mapping
from typing import NamedTuple

import msgspec

from kb.draw.body import out_of_range
from kb.draw.kit import SHAPES, Piece, place_kit
from kb.draw.place import CONTACTS, Placed, circles, place, sided, touches
from kb.model import Equipment
from kb.model.figure import FLOOR, Figure, Moment, Pose

SLACK = 1.0
"""Centimetres that a touching part may be off its surface."""
SINKS = 3.0
"""Centimetres that a body may sink into a mat."""


class Scene(NamedTuple):
    """Everything in its place, in centimetres, the floor at height 0."""

    figure: Figure
    pieces: dict[str, Piece]
    gymnasts: tuple[Placed, ...]


class SceneError(Exception):
    """A figure names something that there is not."""


def build_scene(
    figure: Figure, poses: Mapping[str, Pose], equipment: Mapping[str, Equipment], child: float | None = None
) -> Scene:
    """Place kit and gymnasts. Raises SceneError for a name that is unknown, with what there is."""
    _check_names(figure, poses, equipment)
    front = figure.view == "front"
    pieces = place_kit(figure.kit, equipment, front=front)
    height = child or figure.child
    if front:
        poses = {name: msgspec.structs.replace(pose, twist=pose.twist + 90) for name, pose in poses.items()}
    return Scene(figure, pieces, tuple(place(moment, poses, pieces, height) for moment in figure.moments))


def _check_names(figure: Figure, poses: Mapping[str, Pose], equipment: Mapping[str, Equipment]) -> None:
    for number, stand in enumerate(figure.kit, start=1):
        if stand.item not in equipment:
            raise SceneError(f"kit {number}: found '{stand.item}', which is no item of the equipment list")
        before = {other.key or other.item for other in figure.kit[: number - 1]} | {"floor"}
        if stand.on not in before:
            raise SceneError(f"kit {number}: it stands on '{stand.on}', which is not listed before it")
    keys = {stand.key or stand.item for stand in figure.kit} | {"floor"}
    if len(keys) != len(figure.kit) + 1:
        raise SceneError("two pieces of kit have the same name; give one of them a key of its own")
    shapes = {stand.key or stand.item: SHAPES.get(stand.item, "box") for stand in figure.kit}
    for number, moment in enumerate(figure.moments, start=1):
        for message in _moment_names(moment, poses, shapes):
            raise SceneError(f"moment {number}: {message}")
    for hand in figure.hands:
        if hand.of > len(figure.moments):
            raise SceneError(f"a hand is on moment {hand.of}, there are {len(figure.moments)}")
        if sided(hand.part)[1] not in (*CONTACTS, "waist", "chest", "calves", "wrists"):
            raise SceneError(f"a hand is on '{hand.part}', which is no part of the body")


def _moment_names(moment: Moment, poses: Mapping[str, Pose], shapes: Mapping[str, str]) -> Iterator[str]:
    if moment.pose not in poses:
        yield f"found '{moment.pose}', which is no pose of vocabulary/poses.yaml"
        return
    parts, names = touches(moment, poses[moment.pose])
    if len(parts) != len(names):
        yield f"{len(parts)} parts touch and {len(names)} surfaces are named"
    yield from (f"'{part}' is no part that can touch" for part in parts if sided(part)[1] not in CONTACTS)
    yield from (f"it touches '{name}', which is not in the picture" for name in names if name not in (FLOOR, *shapes))
    if not parts and moment.rise is None:
        yield "nothing touches: name the parts that touch, or 'rise' for a flight"
    if moment.at is None and not {shapes.get(name) for name in names} & {"rail", "wall"}:
        yield "'at' is missing"
    fields = set(Pose.__struct_fields__) - {"id", "name", "air"}
    yield from (f"'{joint}' is no joint" for joint in moment.bend if joint not in fields)


def scene_problems(scene: Scene) -> list[str]:
    """Return what no gymnast could do and no floor would allow, a sentence each."""
    found: list[str] = []
    for number, placed in enumerate(scene.gymnasts, start=1):
        found += [f"moment {number}: {message}" for message in (*out_of_range(placed.pose), *_contact(placed))]
        found += [f"moment {number}: {message}" for message in _inside(placed, scene)]
    return found


def _contact(placed: Placed) -> Iterator[str]:
    for part, name, miss in placed.misses:
        if abs(miss) > SLACK:
            yield f"her {part} are {miss:.1f} cm from the {name}; they must touch it within {SLACK:g} cm"


def _inside(placed: Placed, scene: Scene) -> Iterator[str]:
    spots = list(circles(placed.body))
    lowest = min(y - r for _, y, r in spots)
    if lowest < -SLACK:
        yield f"a part of her is {-lowest:.1f} cm under the floor"
    for piece in scene.pieces.values():
        if not piece.solid:
            continue
        depth = max((_depth(spot, piece) for spot in spots), default=0.0)
        if depth > SINKS:
            remedy = f"at most {SINKS:g} cm (or set 'behind: true')"
            yield f"a part of her is {depth:.1f} cm inside the {piece.key}; {remedy}"


def _depth(spot: tuple[float, float, float], piece: Piece) -> float:
    """Return how deep a circle is inside a piece."""
    x, y, r = spot
    best = 0.0
    for n in range(8):
        px, py = x + r * math.cos(n * math.pi / 4), y + r * math.sin(n * math.pi / 4)
        if piece.holds(px, py):
            top = piece.surface(px) - py
            sides = min(px - piece.left, piece.right - px)
            under = py - (piece.top - 16 if piece.shape == "legs" else -1e9)
            best = max(best, min(top, sides, under))
    return best
