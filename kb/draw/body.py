"""A gymnast as a jointed body in space: angles in, points in centimetres out.

Segment lengths are fractions of stature, Drillis & Contini 1966 in Winter, Biomechanics and Motor Control of Human
Movement, 4th ed. 2009, Fig. 4.1. They are adult averages; how thick the limbs are is drawn by eye.

Space: x to the right of the picture, y up, z toward the reader; centimetres. A body that faces right stands with her
near side toward the reader.
"""

import math
from typing import NamedTuple

from kb.model.figure import Pair, Pose

Vector = tuple[float, float, float]

FOOT_HEIGHT, FOOT, SHANK, THIGH = 0.039, 0.152, 0.246, 0.245
TRUNK, NECK, HEAD = 0.288, 0.052, 0.130
UPPER_ARM, FOREARM, HAND = 0.186, 0.146, 0.108
SHOULDERS, HIPS = 0.259, 0.191
HEEL_BACK, TOES = 0.038, 0.045
"""How far the heel lies behind the ankle, and how long the toes are (by eye)."""
GRIP = 0.045
"""From the wrist to the middle of a closed fist (by eye)."""

THICKNESS = {
    "hip": 0.056,
    "waist": 0.047,
    "chest": 0.054,
    "neck": 0.024,
    "head": 0.052,
    "thigh": 0.042,
    "knee": 0.029,
    "ankle": 0.019,
    "ball": 0.013,
    "toe": 0.010,
    "shoulder": 0.027,
    "elbow": 0.019,
    "wrist": 0.0145,
    "knuckle": 0.013,
    "finger": 0.009,
}
"""Half the thickness at each joint, as a fraction of stature (by eye)."""


RANGES: dict[str, Pair] = {
    "spine": (-75, 100),
    "neck": (-60, 65),
    "shoulder": (-75, 200),
    "arm_out": (-30, 180),
    "elbow": (-8, 150),
    "wrist": (-85, 105),
    "hip": (-95, 165),
    "leg_out": (-25, 95),
    "knee": (-8, 155),
    "ankle": (-35, 80),
    "toes": (-30, 90),
}
"""What a supple child's joints can do, in degrees (common practice, no source); hips in the splits reach -95."""


def out_of_range(pose: Pose) -> list[str]:
    """Return a sentence for every joint angle that no child has."""
    found = [
        f"{joint} {angle:g}°, human joints go from {low:g} to {high:g}"
        for joint, (low, high) in RANGES.items()
        for angle in pair(getattr(pose, joint))
        if not low <= angle <= high
    ]
    return list(dict.fromkeys(found))  # one sentence when both limbs are off alike


def pair(value: float | Pair) -> Pair:
    """Return the value for the near and the far limb."""
    return tuple(value) if isinstance(value, (tuple, list)) else (value, value)  # type: ignore[return-value]


class Limb(NamedTuple):
    """A chain of joints with half thicknesses."""

    name: str
    """arm, leg, trunk or head."""
    side: str
    """near, far or middle."""
    joints: tuple[str, ...]
    points: tuple[Vector, ...]
    radii: tuple[float, ...]


class Body(NamedTuple):
    """A posed gymnast, her hips at the origin until she is placed."""

    height: float
    limbs: tuple[Limb, ...]

    def limb(self, name: str, side: str) -> Limb:
        """Return one limb."""
        return next(limb for limb in self.limbs if limb.name == name and limb.side in (side, "middle"))

    def moved(self, dx: float, dy: float) -> "Body":
        """Return the body moved in the plane of the picture."""
        return Body(
            self.height,
            tuple(
                Limb(
                    limb.name, limb.side, limb.joints, tuple((x + dx, y + dy, z) for x, y, z in limb.points), limb.radii
                )
                for limb in self.limbs
            ),
        )


def posed(pose: Pose, height: float, *, facing_left: bool = False) -> Body:
    """Return the body of a gymnast of `height` cm in a pose, hips at the origin."""
    frame = _Frame(pose, height, facing_left)
    limbs = [frame.trunk(), frame.head()]
    for side in (0, 1):
        limbs += [frame.leg(side), frame.arm(side)]
    return Body(height, tuple(limbs))


SIDES = ("near", "far")


class _Frame:
    """Directions of the body turned into those of space."""

    def __init__(self, pose: Pose, height: float, facing_left: bool) -> None:
        self.pose, self.height = pose, height
        self.mirror = -1.0 if facing_left else 1.0
        lean, twist = math.radians(pose.lean), math.radians(pose.twist)
        self.cosines = math.cos(lean), math.sin(lean), math.cos(twist), math.sin(twist)
        half = TRUNK / 2 * height
        self.hips = (0.0, 0.0, 0.0)
        self.waist = self.step(self.hips, (0.0, 1.0, 0.0), half)
        self.bend = math.radians(pose.spine)
        self.up = (math.sin(self.bend), math.cos(self.bend), 0.0)
        self.chest = self.step(self.waist, self.up, half)

    def turned(self, direction: Vector) -> Vector:
        """Return a direction of the body (forward, up, to her near side) in space: twist about her axis, then lean."""
        forward, up, near = direction
        cos_lean, sin_lean, cos_twist, sin_twist = self.cosines
        x = forward * cos_twist - near * sin_twist
        z = forward * sin_twist + near * cos_twist
        return (x * cos_lean + up * sin_lean) * self.mirror, up * cos_lean - x * sin_lean, z

    def step(self, start: Vector, direction: Vector, length: float) -> Vector:
        """Return the end of a segment."""
        x, y, z = self.turned(direction)
        return start[0] + x * length, start[1] + y * length, start[2] + z * length

    def limb(self, name: str, side: str, joints: str, points: list[Vector]) -> Limb:
        names = tuple(joints.split())
        return Limb(name, side, names, tuple(points), tuple(THICKNESS[joint] * self.height for joint in names))

    def trunk(self) -> Limb:
        return self.limb("trunk", "middle", "hip waist chest", [self.hips, self.waist, self.chest])

    def head(self) -> Limb:
        angle = self.bend + math.radians(self.pose.neck)
        nod = (math.sin(angle), math.cos(angle), 0.0)
        chin = self.step(self.chest, (math.sin(self.bend), math.cos(self.bend), 0.0), NECK * self.height)
        crown = self.step(chin, nod, HEAD * self.height)
        return self.limb("head", "middle", "neck neck head", [self.chest, chin, crown])

    def leg(self, side: int) -> Limb:
        pose, size = self.pose, self.height
        hip, out, knee, ankle, toes = (
            math.radians(pair(value)[side]) for value in (pose.hip, pose.leg_out, pose.knee, pose.ankle, pose.toes)
        )
        across = 1.0 if side == 0 else -1.0
        start = self.step(self.hips, (0.0, 0.0, across), HIPS / 2 * size)
        end = self.step(start, _swung(hip, out, across), THIGH * size)
        below = self.step(end, _swung(hip - knee, out, across), SHANK * size)
        turn = hip - knee + math.pi / 2 - ankle  # the sole points forward of the shank
        sole, down = _swung(turn, out, across), _swung(turn - math.pi / 2, out, across)
        heel = self.step(self.step(below, down, FOOT_HEIGHT * size), sole, -HEEL_BACK * size)
        ball = self.step(heel, sole, (FOOT - TOES) * size)
        tip = self.step(ball, _swung(turn + toes, out, across), TOES * size)
        return self.limb("leg", SIDES[side], "thigh knee ankle ball ball toe", [start, end, below, heel, ball, tip])

    def arm(self, side: int) -> Limb:
        pose, size = self.pose, self.height
        shoulder, out, elbow, wrist = (
            math.radians(pair(value)[side]) for value in (pose.shoulder, pose.arm_out, pose.elbow, pose.wrist)
        )
        across = 1.0 if side == 0 else -1.0
        lift = shoulder - self.bend  # the arm hangs from the upper trunk
        start = self.step(self.chest, (0.0, 0.0, across), SHOULDERS / 2 * size)
        end = self.step(start, _swung(lift, out, across), UPPER_ARM * size)
        below = self.step(end, _swung(lift + elbow, out, across), FOREARM * size)
        hand = _swung(lift + elbow + wrist, out, across)
        knuckle = self.step(below, hand, HAND * 0.55 * size)
        tip = self.step(knuckle, hand, HAND * 0.45 * size)
        return self.limb("arm", SIDES[side], "shoulder elbow wrist knuckle finger", [start, end, below, knuckle, tip])


def _swung(angle: float, out: float, across: float) -> Vector:
    """Return the direction of a limb that hangs down, swung forward by `angle` and then out to its side."""
    return math.sin(angle) * math.cos(out), -math.cos(angle) * math.cos(out), math.sin(out) * across
