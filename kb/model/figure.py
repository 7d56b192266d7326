"""A card's figure: a small scene in words, from which the picture is drawn."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

from kb.model.types import Id

Centimetres = Annotated[float, Meta(ge=-600, le=900)]
Name = Annotated[str, Meta(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=40)]
Point = tuple[Centimetres, Centimetres]
Words = Annotated[str, Meta(max_length=40)]

Pair = tuple[float, float]
"""Value for the near and for the far limb."""

FLOOR = "floor"
"""What a piece or a gymnast stands on when nothing is said."""


class Stand(Struct, frozen=True, forbid_unknown_fields=True):
    """A piece of kit in the picture, to the right and up from the corner of the floor."""

    item: Id
    at: Centimetres
    """Left edge; for a rail or a piece seen from its end, the middle."""
    key: Name | None = None
    """How the moments name it; the item's id when not given."""
    count: Annotated[int, Meta(ge=1, le=12)] = 1
    """Pieces stacked on one another."""
    on: Name = FLOOR
    """The piece that it lies on."""
    bottom: Annotated[float, Meta(ge=0, le=300)] | None = None
    """Height of its lower edge above the floor, for something held or hung; the gymnast may overlap it."""
    height: Annotated[float, Meta(ge=1, le=300)] | None = None
    """Height of the top above the floor, for a piece that can be set."""
    long: Annotated[float, Meta(ge=5, le=900)] | None = None
    """Length that is shown, for a piece that goes on beyond the picture."""
    folded: bool = False
    """Folded up, for a mat that folds."""
    end: bool = False
    """Seen from its end instead of its side."""
    upright: bool = False
    """Stood on its edge or its end."""
    falls: Literal["left", "right"] = "right"
    """The side to which a wedge or a board goes down."""
    behind: bool = False
    """Stands behind the gymnast, who may pass in front of it."""
    label: Words | None = None
    """Words under it; its name and height when not given, none when empty."""


class Moment(Struct, frozen=True, forbid_unknown_fields=True):
    """One position of the gymnast."""

    pose: Id
    at: float | None = None
    """Where the first touching part is; not needed when a second one at a wall or a rail gives it."""
    touch: tuple[str, ...] | str = ()
    """Parts of the body that touch something, the one that carries her first."""
    on: tuple[str, ...] | str = FLOOR
    """What each of them touches."""
    fit: Literal["lean", "shoulder", "hip", "knee", "elbow"] = "lean"
    """What turns to bring the second touch in place."""
    faces: Literal["left", "right"] = "right"
    bend: dict[str, float | tuple[float, float]] = {}
    """Degrees added to angles of the pose."""
    rise: float | None = None
    """In flight: height of the lowest part of the body above the floor."""
    dashed: bool = False
    """The fault, drawn for comparison."""
    label: str | None = None
    """A word or two beside the number."""


class Arrow(Struct, frozen=True, forbid_unknown_fields=True):
    """A movement from one place to another."""

    start: Point
    end: Point
    curve: Centimetres = 0.0
    """How far the middle bows to the left of the way."""


class SpotterHand(Struct, frozen=True, forbid_unknown_fields=True):
    """A coach's hand on the gymnast."""

    part: Name
    of: Annotated[int, Meta(ge=1, le=5)] = 1
    """Number of the moment."""
    come: Literal["left", "right", "above", "below"] = "left"
    """Where the arm comes from."""


class Figure(Struct, frozen=True, forbid_unknown_fields=True):
    """The whole scene."""

    moments: Annotated[tuple[Moment, ...], Meta(min_length=1, max_length=5)]
    kit: tuple[Stand, ...] = ()
    arrows: tuple[Arrow, ...] = ()
    hands: tuple[SpotterHand, ...] = ()
    view: Literal["side", "front"] = "side"
    """Front: what lies along the picture is the width of the kit and of the gymnast."""
    child: Annotated[float, Meta(ge=95, le=180)] = 130.0
    """Height of the gymnast in cm."""


class Pose(Struct, frozen=True, forbid_unknown_fields=True):
    """Angles of every joint in degrees; a pair means near and far limb."""

    id: str
    name: str
    lean: float = 0.0
    """How far the pelvis is tipped forward from upright: 90 face down, 180 upside down, -90 on the back."""
    twist: float = 0.0
    """Turn about her own long axis: 90 shows her front, -90 her back."""
    spine: float = 0.0
    """Bend of the back: positive rounded (hollow), negative arched."""
    neck: float = 0.0
    """Positive chin to the chest."""
    shoulder: float | Pair = 0.0
    """Arm forward and up: 0 at the side, 90 in front, 180 by the ears, negative behind."""
    arm_out: float | Pair = 0.0
    """Arm away to the side."""
    elbow: float | Pair = 0.0
    wrist: float | Pair = 0.0
    """Positive: the back of the hand toward the forearm, as in a handstand."""
    hip: float | Pair = 0.0
    """Leg forward: 0 in line with the body, 90 at a right angle, negative behind."""
    leg_out: float | Pair = 0.0
    """Leg away to the side."""
    knee: float | Pair = 0.0
    ankle: float | Pair = 0.0
    """0 the foot at a right angle, positive pointed."""
    toes: float | Pair = 0.0
    """Toes bent up, as on tiptoe."""
    touch: tuple[str, ...] = ()
    """Parts that touch when the moment names none; none in flight."""
