"""Scenes: touching parts on their surfaces, kit at its true size, and everything impossible is told."""

import math
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.draw.kit import RAIL
from kb.draw.place import circles, contact, grip_point
from kb.draw.scene import Scene, SceneError, build_scene, scene_problems
from kb.library import load_collection
from kb.model.figure import Figure
from tests.support import ROOT

WORDS = load_collection(ROOT / "drills").vocabulary


def scene(**figure: Any) -> Scene:
    """Build a scene from plain values."""
    return build_scene(msgspec.convert(figure, Figure), WORDS.poses, WORDS.equipment)


def lowest(built: Scene, number: int = 0) -> float:
    """Return the height of the lowest part of a gymnast."""
    return min(y - r for _, y, r in circles(built.gymnasts[number].body))


def test_she_stands_on_the_floor_at_her_place() -> None:
    """Soles at height 0, the middle of the feet at x."""
    built = scene(moments=[{"pose": "stand", "at": 80}])
    assert lowest(built) == pytest.approx(0, abs=0.1)
    feet = contact(built.gymnasts[0].body, "feet")
    assert sum(x for x, _, _ in feet) / len(feet) == pytest.approx(80, abs=0.1)
    assert scene_problems(built) == []


KIT_HEIGHTS = {  # cm, from the equipment list, whose sources stand in it
    "one soft mat": ([{"item": "soft-mat-20", "at": 0}], "soft-mat-20", 20),
    "a stack of three": ([{"item": "landing-mat-20", "at": 0, "count": 3}], "landing-mat-20", 60),
    "soft on firm": (
        [{"item": "landing-mat-20", "at": 0}, {"item": "soft-mat-10", "at": 0, "on": "landing-mat-20"}],
        "soft-mat-10",
        30,
    ),
    "a folded panel": ([{"item": "panel-mat", "at": 0, "folded": True}], "panel-mat", 20),
    "the high beam": ([{"item": "high-beam", "at": 0}], "high-beam", 125),
    "a beam set low": ([{"item": "mid-beam", "at": 0, "height": 60}], "mid-beam", 60),
}


@pytest.mark.parametrize("name", KIT_HEIGHTS)
def test_she_stands_on_kit_at_its_true_height(name: str) -> None:
    """The soles are at the height that the pieces add up to."""
    kit, key, height = KIT_HEIGHTS[name]
    built = scene(kit=kit, moments=[{"pose": "stand", "at": 40, "on": key}])
    assert built.pieces[key].top == height
    assert lowest(built) == pytest.approx(height, abs=0.1)


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(sorted(name for name, pose in WORDS.poses.items() if "fists" in pose.touch)), st.floats(95, 180))
def test_fists_hold_the_rail(name: str, child: float) -> None:
    """In every pose on a bar the middle of the fists is the middle of the rail."""
    figure = {"kit": [{"item": "high-bar", "at": 30, "height": 230}], "moments": [{"pose": name, "on": "high-bar"}]}
    built = build_scene(msgspec.convert(figure, Figure), WORDS.poses, WORDS.equipment, child)
    x, y = grip_point(built.gymnasts[0].body, "fists")
    assert math.hypot(x - 30, y - (230 - RAIL)) < 0.5


def test_a_second_touch_turns_her_until_it_fits() -> None:
    """Hands on a block and feet on the floor: both touch within a millimetre or two."""
    built = scene(
        kit=[{"item": "block-40", "at": 100}],
        moments=[{"pose": "front-support", "at": 120, "on": ["block-40", "floor"]}],
    )
    assert all(abs(miss) < 0.2 for _, _, miss in built.gymnasts[0].misses)
    assert scene_problems(built) == []


def test_a_wall_stops_her_slide() -> None:
    """Back to the wall: she is moved along the floor until seat or back touch."""
    built = scene(
        kit=[{"item": "wall", "at": -20}],
        moments=[{"pose": "stand", "touch": ["feet", "back"], "on": ["floor", "wall"]}],
    )
    assert all(abs(miss) < 0.2 for _, _, miss in built.gymnasts[0].misses)
    assert min(x - r for x, _, r in circles(built.gymnasts[0].body)) > -1


IMPOSSIBLE: dict[str, tuple[dict[str, Any], str]] = {
    "a joint too far": ({"moments": [{"pose": "stand", "at": 0, "bend": {"knee": -40}}]}, "knee -40°"),
    "inside a block": (
        {"kit": [{"item": "block-60", "at": -50}], "moments": [{"pose": "stand", "at": 0}]},
        "inside the block-60",
    ),
    "under the floor": ({"moments": [{"pose": "hang", "at": 0, "touch": "elbows"}]}, "under the floor"),
    "cannot reach": (
        {
            "kit": [{"item": "block-60", "at": 200}],
            "moments": [{"pose": "front-support", "at": 0, "touch": ["hands", "toes"], "on": ["floor", "block-60"]}],
        },
        "they must touch it",
    ),
}


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_what_cannot_be_is_told(name: str) -> None:
    """Each impossible picture is found, in words."""
    figure, words = IMPOSSIBLE[name]
    assert any(words in message for message in scene_problems(scene(**figure)))


def test_behind_is_allowed_to_overlap() -> None:
    """A piece behind her is no obstacle."""
    kit = [{"item": "block-60", "at": -50, "behind": True}]
    assert scene_problems(scene(kit=kit, moments=[{"pose": "stand", "at": 0}])) == []


UNKNOWN: dict[str, tuple[dict[str, Any], str]] = {
    "a pose": ({"moments": [{"pose": "levitate", "at": 0}]}, "'levitate'"),
    "an item": ({"kit": [{"item": "sofa", "at": 0}], "moments": [{"pose": "stand", "at": 0}]}, "'sofa'"),
    "a surface": ({"moments": [{"pose": "stand", "at": 0, "on": "cloud"}]}, "'cloud'"),
    "a part": ({"moments": [{"pose": "stand", "at": 0, "touch": "tail"}]}, "'tail'"),
    "a joint": ({"moments": [{"pose": "stand", "at": 0, "bend": {"tail": 5}}]}, "'tail'"),
    "no place": ({"moments": [{"pose": "stand"}]}, "'at' is missing"),
    "a hand too many": ({"moments": [{"pose": "stand", "at": 0}], "hands": [{"part": "back", "of": 2}]}, "moment 2"),
    "a hand nowhere": ({"moments": [{"pose": "stand", "at": 0}], "hands": [{"part": "tail"}]}, "'tail'"),
    "the same name twice": (
        {"kit": [{"item": "wall", "at": 0}, {"item": "wall", "at": 200}], "moments": [{"pose": "stand", "at": 80}]},
        "same name",
    ),
    "stands on what comes later": (
        {"kit": [{"item": "soft-mat-10", "at": 0, "on": "wedge"}], "moments": [{"pose": "stand", "at": 80}]},
        "'wedge'",
    ),
    "floats": ({"moments": [{"pose": "tuck-jump", "at": 0}]}, "nothing touches"),
}


@pytest.mark.parametrize("name", UNKNOWN)
def test_names_that_lead_nowhere_are_refused(name: str) -> None:
    """A figure that names what there is not is refused with what was found."""
    figure, words = UNKNOWN[name]
    with pytest.raises(SceneError, match=words):
        scene(**figure)


def test_flight_is_where_it_is_said() -> None:
    """In flight the lowest part is at the height given."""
    assert lowest(scene(moments=[{"pose": "tuck-jump", "at": 0, "rise": 35}])) == pytest.approx(35, abs=0.1)
