"""The gymnast is put where the scene says: her touching parts on their surfaces, all else follows from her angles."""

import math
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

import msgspec

from kb.draw.body import GRIP, Body, Limb, pair, posed
from kb.draw.kit import RAIL, Piece
from kb.model.figure import FLOOR, Moment, Pose

Circle = tuple[float, float, float]
"""Place and half thickness of a piece of limb."""

CONTACTS: dict[str, tuple[str, tuple[str, ...]]] = {
    "feet": ("leg", ("ball", "toe")),
    "toes": ("leg", ("toe",)),
    "heels": ("leg", ("heel",)),
    "shins": ("leg", ("knee", "ankle", "toe")),
    "knees": ("leg", ("knee",)),
    "thighs": ("leg", ("thigh", "knee")),
    "hands": ("arm", ("wrist", "knuckle", "finger")),
    "fingers": ("arm", ("finger",)),
    "fists": ("arm", ("grip",)),
    "elbows": ("arm", ("elbow",)),
    "forearms": ("arm", ("elbow", "wrist")),
    "shoulders": ("arm", ("shoulder",)),
    "seat": ("trunk", ("hip",)),
    "hips": ("trunk", ("hip",)),
    "back": ("trunk", ("hip", "waist", "chest")),
    "upper-back": ("trunk", ("chest",)),
    "front": ("trunk", ("hip", "waist", "chest")),
    "head": ("head", ("head",)),
}
"""Parts that can touch: the limb and its joints; 'near-' or 'far-' before it means one side only."""

SINGULAR = {"foot": "feet", "hand": "hands", "fist": "fists", "knee": "knees", "shin": "shins"}

STEP, WIDEST = 2.0, 80.0
"""Degrees of one try and of the most that a joint is turned to bring the second touch in place."""


class Surface(NamedTuple):
    """Something that a part can touch."""

    piece: Piece | None
    """The floor when None."""

    def gap(self, circles: list[Circle]) -> float:
        """Return the distance in cm from the nearest of the circles, negative when one is inside."""
        piece = self.piece
        if piece is None:
            return min(y - r for _, y, r in circles)
        if piece.shape == "rail":
            middle, height = piece.middle, piece.top - RAIL
            return min(math.hypot(x - middle, y - height) - r - RAIL for x, y, r in circles)
        if piece.shape == "wall":
            return self._from_wall(circles, piece)
        over = [(x, y, r) for x, y, r in circles if piece.left - r < x < piece.right + r]
        return min(y - r - piece.surface(x) for x, y, r in over or circles)

    def beside(self, circles: list[Circle]) -> float:
        """Return how far the circles are to the side of the piece that they should be on; 0 when one is over it."""
        piece = self.piece
        if piece is None or piece.shape in ("rail", "wall"):
            return 0.0
        return min(max(piece.left - x - r, x - r - piece.right, 0.0) for x, _, r in circles)

    def _from_wall(self, circles: list[Circle], piece: Piece) -> float:
        if sum(x for x, _, _ in circles) / len(circles) < piece.middle:
            return min(piece.left - x - r for x, _, r in circles)
        return min(x - r - piece.right for x, _, r in circles)


class Placed(NamedTuple):
    """A gymnast in her place."""

    moment: Moment
    pose: Pose
    body: Body
    misses: tuple[tuple[str, str, float], ...]
    """Touching part, surface and the centimetres between them."""


def place(moment: Moment, poses: Mapping[str, Pose], pieces: Mapping[str, Piece], height: float) -> Placed:
    """Put a gymnast of `height` cm where the moment says. Raises KeyError for a pose, part or piece that is unknown."""
    pose = bent(poses[moment.pose], moment)
    parts, names = touches(moment, pose)
    surfaces = [Surface(None if name == FLOOR else pieces[name]) for name in names]
    if len(parts) > 1 and moment.at is not None:
        pose = _fitted(moment, pose, parts[:2], surfaces[:2], height)
    body = _set(moment, pose, parts, surfaces, height)
    misses = tuple(
        (part, name, round(touch_gap(body, part, surface), 2))
        for part, name, surface in zip(parts, names, surfaces, strict=True)
    )
    return Placed(moment, pose, body, misses)


def touches(moment: Moment, pose: Pose) -> tuple[list[str], list[str]]:
    """Return the touching parts, the pose's own when the moment names none, and what each touches."""
    parts = [moment.touch] if isinstance(moment.touch, str) else list(moment.touch)
    if not parts and moment.rise is None:
        parts = list(pose.touch)
    names = [moment.on] if isinstance(moment.on, str) else list(moment.on)
    return parts, (names * len(parts))[: len(parts)] if len(names) == 1 else names


def bent(pose: Pose, moment: Moment) -> Pose:
    """Return the pose with the moment's small corrections added."""
    changes = {}
    for joint, more in moment.bend.items():
        near, far = pair(getattr(pose, joint))
        add_near, add_far = pair(more)
        both = (near + add_near, far + add_far)
        changes[joint] = both[0] if joint in ("lean", "twist", "spine", "neck") else both
    return msgspec.structs.replace(pose, **changes)


def _fitted(moment: Moment, pose: Pose, parts: list[str], surfaces: list[Surface], height: float) -> Pose:
    """Turn one joint until the second part touches too."""

    def miss(turn: float) -> float:
        tried = turned(pose, moment.fit, turn)
        return touch_gap(_set(moment, tried, parts[:1], surfaces[:1], height), parts[1], surfaces[1])

    turn = nearest_zero(miss)
    return turned(pose, moment.fit, turn)


def turned(pose: Pose, joint: str, turn: float) -> Pose:
    """Return the pose with one joint turned."""
    if joint == "lean":
        return msgspec.structs.replace(pose, lean=pose.lean + turn)
    near, far = pair(getattr(pose, joint))
    return msgspec.structs.replace(pose, **{joint: (near + turn, far + turn)})


def nearest_zero(miss: Callable[[float], float]) -> float:
    """Return the smallest turn in degrees at which `miss` is zero, or that at which it is least."""
    best = (abs(miss(0.0)), 0.0)
    edges = {sign: (0.0, miss(0.0)) for sign in (1, -1)}
    for step in range(1, int(WIDEST / STEP) + 1):
        for sign in (1, -1):
            before, was = edges[sign]
            here = sign * step * STEP
            now = miss(here)
            if was * now <= 0:
                return _bisect(miss, before, here)
            best = min(best, (abs(now), here))
            edges[sign] = (here, now)
    return best[1]


def _bisect(miss: Callable[[float], float], low: float, high: float) -> float:
    at_low = miss(low)
    for _ in range(30):
        middle = (low + high) / 2
        if (value := miss(middle)) * at_low > 0:
            low, at_low = middle, value
        else:
            high = middle
    return (low + high) / 2


def _set(moment: Moment, pose: Pose, parts: list[str], surfaces: list[Surface], height: float) -> Body:
    body = posed(pose, height, facing_left=moment.faces == "left")
    if not parts:
        lowest = min(y - r for _, y, r in circles(body))
        middle = body.limb("trunk", "middle").points[0][0]
        return body.moved((moment.at or 0.0) - middle, (moment.rise or 0.0) - lowest)
    spots = contact(body, parts[0])
    first = surfaces[0]
    if first.piece is not None and first.piece.shape == "rail" and parts[0].endswith(("fists", "hands")):
        x, y = grip_point(body, parts[0])
        return body.moved(first.piece.middle - x, first.piece.top - RAIL - y)
    if first.piece is not None and first.piece.shape == "rail" and moment.at is None:
        return _on_rail(body, spots, first.piece)
    middle = sum(x for x, _, _ in spots) / len(spots)
    body = body.moved((moment.at if moment.at is not None else 0.0) - middle, 0.0)
    body = body.moved(0.0, -first.gap(contact(body, parts[0])))
    if moment.at is None and len(surfaces) > 1:
        body = _slid(body, parts[1], surfaces[1])
        body = body.moved(0.0, -first.gap(contact(body, parts[0])))
    return body


def _on_rail(body: Body, spots: list[Circle], rail: Piece) -> Body:
    """Put the middle of the part over the rail, resting on it."""
    x, y, r = min(spots, key=lambda spot: spot[1] - spot[2])
    return body.moved(rail.middle - x, rail.top - (y - r))


def _slid(body: Body, part: str, surface: Surface) -> Body:
    """Slide the body along the floor until the part touches a wall."""
    piece = surface.piece
    if piece is None:
        return body
    spots = contact(body, part)
    left = body.limb("trunk", "middle").points[0][0] < sum(x for x, _, _ in spots) / len(spots)
    if left:
        return body.moved(piece.left - max(x + r for x, _, r in spots), 0.0)
    return body.moved(piece.right - min(x - r for x, _, r in spots), 0.0)


def touch_gap(body: Body, part: str, surface: Surface) -> float:
    """Return the centimetres between a part and its surface; for a fist, between its middle and that of the rail."""
    if surface.piece is not None and surface.piece.shape == "rail" and part.endswith(("fists", "hands")):
        x, y = grip_point(body, part)
        return math.hypot(x - surface.piece.middle, y - surface.piece.top + RAIL)
    spots = contact(body, part)
    return surface.beside(spots) or surface.gap(spots)


def contact(body: Body, part: str) -> list[Circle]:
    """Return the circles of a part that can touch. Raises KeyError for an unknown part."""
    side, name = sided(part)
    limb_name, joints = CONTACTS[name]
    found: list[Circle] = []
    for limb in body.limbs:
        if limb.name == limb_name and (limb.side == "middle" or side in ("", limb.side)):
            found += [spot for joint, spot in _named(limb) if joint in joints]
    return found


def grip_point(body: Body, part: str) -> tuple[float, float]:
    """Return the middle of the closed fists."""
    side, _ = sided(part)
    spots = [
        spot
        for limb in body.limbs
        if limb.name == "arm" and side in ("", limb.side)
        for joint, spot in _named(limb)
        if joint == "grip"
    ]
    return sum(x for x, _, _ in spots) / len(spots), sum(y for _, y, _ in spots) / len(spots)


def sided(part: str) -> tuple[str, str]:
    """Return the side that a part names (empty for both) and the part as CONTACTS knows it."""
    side, _, rest = part.partition("-")
    if side in ("near", "far"):
        return side, SINGULAR.get(rest, rest)
    return "", part


def _named(limb: Limb) -> Iterator[tuple[str, Circle]]:
    """Yield joint names and circles; the heel and the middle of the fist get names of their own."""
    for place, (joint, point, radius) in enumerate(zip(limb.joints, limb.points, limb.radii, strict=True)):
        name = "heel" if limb.name == "leg" and place == 3 else joint
        yield name, (point[0], point[1], radius)
        if name == "heel":
            yield "ball", (point[0], point[1], radius)  # the heel is part of the sole
    if limb.name == "arm":
        wrist, knuckle = limb.points[2], limb.points[3]
        length = math.dist(wrist, knuckle) or 1.0
        part = GRIP * _stature(limb) / length
        yield (
            "grip",
            (
                wrist[0] + (knuckle[0] - wrist[0]) * part,
                wrist[1] + (knuckle[1] - wrist[1]) * part,
                limb.radii[3],
            ),
        )


def _stature(limb: Limb) -> float:
    from kb.draw.body import THICKNESS

    return limb.radii[0] / THICKNESS[limb.joints[0]]


def circles(body: Body) -> Iterator[Circle]:
    """Yield circles along the whole body, close enough to find what it runs into."""
    for limb in body.limbs:
        for (a, b), (ra, rb) in zip(
            zip(limb.points, limb.points[1:], strict=False), zip(limb.radii, limb.radii[1:], strict=False), strict=True
        ):
            for n in range(5):
                t = n / 4
                yield a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t, ra + (rb - ra) * t
