"""What the coach fixes beside her words."""

from msgspec import Struct


class Limits(Struct, frozen=True):
    """Limits given as options; each overrides what is read from the words."""

    event: str | None = None
    level: int | None = None
    without: tuple[str, ...] = ()
    """Kit that is missing, by id, name or alias."""
    have: dict[str, int] | None = None
    """Kit that there is, by id."""
    spotters: int | None = None
    height_cm: int | None = None
    age: int | None = None
    """Years."""
    kit: tuple[tuple[str, int, tuple[float, ...] | None], ...] | None = None
    """Kit that there is, with the club's own sizes."""
    ignore: tuple[str, ...] = ()
    """Readings to take back, by the name of the field, and 'spelling'."""
    top: int = 5
    """How many drills to list."""
