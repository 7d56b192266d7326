"""The body: segments as long as published, joints that go where their angles say."""

import math
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.draw.body import RANGES, Body, Limb, out_of_range, pair, posed
from kb.library import load_collection
from kb.model import Pose
from tests.support import ROOT

POSES = load_collection(ROOT / "drills").vocabulary.poses

# Drillis & Contini 1966 in Winter, Biomechanics and Motor Control of Human Movement, 4th ed. 2009, Fig. 4.1, as printed
# in the trade's reference values, fractions of stature.
PUBLISHED = {
    ("leg", 0): 0.245,  # thigh: hip .530 - knee .285
    ("leg", 1): 0.246,  # shank: knee .285 - ankle .039
    ("arm", 0): 0.186,
    ("arm", 1): 0.146,
    ("head", 0): 0.052,  # chin .870 - shoulder .818
    ("head", 1): 0.130,
}
TOLERANCE = 0.005


def length(limb: Limb, place: int) -> float:
    """Return the length of a segment in space."""
    return math.dist(limb.points[place], limb.points[place + 1])


def check_lengths(body: Body) -> None:
    """Hold every segment to the published fraction within half a percent."""
    for limb in body.limbs:
        for (name, place), part in PUBLISHED.items():
            if limb.name == name:
                assert length(limb, place) == pytest.approx(part * body.height, rel=TOLERANCE)
    trunk = body.limb("trunk", "middle")
    assert length(trunk, 0) + length(trunk, 1) == pytest.approx(0.288 * body.height, rel=TOLERANCE)
    for side in ("near", "far"):
        arm, leg = body.limb("arm", side), body.limb("leg", side)
        assert length(arm, 2) + length(arm, 3) == pytest.approx(0.108 * body.height, rel=TOLERANCE)  # hand
        assert length(leg, 3) + length(leg, 4) == pytest.approx(0.152 * body.height, rel=TOLERANCE)  # foot
    near, far = body.limb("leg", "near").points[0], body.limb("leg", "far").points[0]
    assert math.dist(near, far) == pytest.approx(0.191 * body.height, rel=TOLERANCE)
    near, far = body.limb("arm", "near").points[0], body.limb("arm", "far").points[0]
    assert math.dist(near, far) == pytest.approx(0.259 * body.height, rel=TOLERANCE)


@pytest.mark.parametrize("name", POSES)
def test_segments_of_every_pose_are_as_published(name: str) -> None:
    """No pose stretches or shortens a limb."""
    check_lengths(posed(POSES[name], 130))


angles = {joint: st.floats(low, high, allow_nan=False) for joint, (low, high) in RANGES.items()}
poses = st.builds(
    Pose,
    id=st.just("any"),
    name=st.just("Any"),
    lean=st.floats(-360, 360),
    twist=st.floats(-180, 180),
    **{joint: angle if joint in ("spine", "neck") else st.tuples(angle, angle) for joint, angle in angles.items()},
)


@settings(deadline=None)
@given(poses, st.floats(95, 180), st.booleans())
def test_segments_of_any_pose_are_as_published(pose: Pose, height: float, left: bool) -> None:
    """Whatever the angles, the height and the side she faces."""
    check_lengths(posed(pose, height, facing_left=left))


def test_standing_height_is_the_sum_of_the_published_parts() -> None:
    """Ankle .039 + shank .246 + thigh .245 + trunk .288 + neck .052 + head .130 = 1: she is as tall as she is."""
    body = posed(POSES["stand"], 130)
    crown = body.limb("head", "middle").points[2][1]
    heel = body.limb("leg", "near").points[3][1]
    assert crown - heel == pytest.approx(130, rel=TOLERANCE)


def test_overhead_reach() -> None:
    """With arms straight up the finger tips are 1.258 of her height above the floor (.818 + .440)."""
    body = posed(msgspec.structs.replace(POSES["stand"], shoulder=180.0), 130)
    tip = body.limb("arm", "near").points[4][1]
    heel = body.limb("leg", "near").points[3][1]
    assert tip - heel == pytest.approx(1.258 * 130, rel=TOLERANCE)


TURNS: dict[str, tuple[dict[str, Any], str, int, tuple[int, int]]] = {
    "arm in front": ({"shoulder": 90.0}, "arm", 4, (1, 0)),
    "arm behind": ({"shoulder": -60.0}, "arm", 4, (-1, 0)),
    "leg in front": ({"hip": 90.0}, "leg", 2, (1, 0)),
    "knee bent": ({"knee": 90.0}, "leg", 2, (-1, -1)),
    "face down": ({"lean": 90.0}, "head", 2, (1, 0)),
    "on the back": ({"lean": -90.0}, "head", 2, (-1, 0)),
    "upside down": ({"lean": 180.0}, "head", 2, (0, -1)),
    "rounded": ({"spine": 60.0}, "head", 2, (1, 1)),
    "arched": ({"spine": -60.0}, "head", 2, (-1, 1)),
}


@pytest.mark.parametrize("name", TURNS)
@pytest.mark.parametrize("left", [False, True])
def test_joints_turn_the_right_way(name: str, left: bool) -> None:
    """Each angle moves its limb to the side that its name says; facing left mirrors it."""
    change, limb, place, (x, y) = TURNS[name]
    body = posed(Pose("turn", "Turn", **change), 100, facing_left=left)
    found = body.limb(limb, "near").points[place]
    for value, wanted in ((found[0] * (-1 if left else 1), x), (found[1], y)):
        if wanted:
            assert value * wanted > 5
    if y == 0 and limb == "head":
        assert abs(found[1]) < 1


def test_a_straddle_is_foreshortened_from_the_side_and_wide_from_the_front() -> None:
    """Legs out to the side look short from the side; turned to the reader they are as wide as they are long."""
    straddle: dict[str, Any] = {"hip": 90.0, "leg_out": 80.0}
    side = posed(Pose("s", "S", **straddle), 100).limb("leg", "near").points
    front = posed(Pose("s", "S", twist=90.0, **straddle), 100).limb("leg", "near").points
    assert abs(side[2][0] - side[0][0]) < 10
    assert abs(front[2][0] - front[0][0]) > 45


@pytest.mark.parametrize("name", POSES)
def test_poses_are_inside_human_ranges(name: str) -> None:
    """No pose of the vocabulary asks a joint for more than a supple child has."""
    assert out_of_range(POSES[name]) == []


@pytest.mark.parametrize(("joint", "angle"), [(joint, limit) for joint, both in RANGES.items() for limit in both])
def test_beyond_the_range_is_told(joint: str, angle: float) -> None:
    """One degree too far is named with the joint."""
    outside = angle + math.copysign(1, angle)
    value: Any = outside if joint in ("spine", "neck") else (0.0, outside)
    found = out_of_range(msgspec.convert({"id": "p", "name": "P", joint: value}, Pose))
    assert len(found) == 1
    assert found[0].startswith(joint)


def test_pairs() -> None:
    """One number is for both limbs."""
    assert pair(3.0) == (3.0, 3.0)
    assert pair((1.0, 2.0)) == (1.0, 2.0)


def test_there_are_enough_poses_with_the_common_faults() -> None:
    """Sixty and more, a dozen of them faults, each with its own name."""
    assert len(POSES) >= 60
    assert sum(name.startswith("fault-") for name in POSES) >= 12
    assert len({pose.name for pose in POSES.values()}) == len(POSES)
