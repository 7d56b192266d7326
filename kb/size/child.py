"""A child as the rules see her: height, age, level, and what was measured on her.

Heights at an age are CDC 2000, girls' stature (percentiles 5, 50 and 95 at whole years, between them in a straight
line). Sitting height over stature is Fredriks et al., Arch Dis Child 2005;90:807, girls.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from kb.errors import OutOfRange
from kb.model import SizeRule

SMALLEST, TALLEST = 95.0, 180.0
"""Heights in cm that the program answers for, a hand's width and more beyond the tables below."""

HEIGHTS: dict[int, tuple[float, float, float]] = {
    6: (106.8701, 115.0055, 123.9086),
    7: (113.0546, 121.7617, 131.2936),
    8: (118.5443, 127.8263, 137.8975),
    9: (123.2186, 133.1304, 143.7674),
    10: (127.4524, 138.2112, 149.6044),
    11: (132.4013, 144.2609, 156.3755),
    12: (139.2236, 151.4866, 163.4555),
    13: (145.8894, 157.3437, 168.5987),
}
"""Age in years to the 5th, 50th and 95th percentile of girls' height in cm, CDC 2000."""

SITTING: dict[int, float] = {
    6: 0.5413,
    7: 0.5357,
    8: 0.5306,
    9: 0.5263,
    10: 0.5224,
    11: 0.5187,
    12: 0.5161,
    13: 0.5159,
}
"""Age in years to girls' median sitting height as a fraction of stature, Fredriks et al. 2005."""

YOUNGEST, OLDEST = min(HEIGHTS), max(HEIGHTS)
HIP = 0.530
"""Hip height as a fraction of stature, Drillis & Contini in Winter 2009."""


NO_LENGTHS: Mapping[str, float] = MappingProxyType({})


class Child(NamedTuple):
    """One gymnast, without a name."""

    height: float
    """Stature in cm."""
    age: float | None = None
    """Years."""
    level: int | None = None
    measured: Mapping[str, float] = NO_LENGTHS
    """Rule to the length in cm that was taken on her with a tape; it wins over the estimate."""
    expected: tuple[float, float, float] | None = None
    """5th, 50th and 95th percentile of height in cm when only her age is known."""


def child_of(
    height: float | None, age: float | None, level: int | None = None, measured: Mapping[str, float] | None = None
) -> Child:
    """Return the child of a height in cm, or of the median height at an age.

    Raises OutOfRange for a height outside 95 to 180 cm, an age outside 6 to 13, a measured length that no child has.
    """
    if height is None and age is None:
        raise OutOfRange("The height", "not given", "--height CM, or --age YEARS for an estimate")
    if age is not None and not YOUNGEST <= age <= OLDEST:
        raise OutOfRange("The age", f"{age:g}", f"from {YOUNGEST} to {OLDEST} years; give her height in cm instead")
    if height is not None and not SMALLEST <= height <= TALLEST:
        raise OutOfRange("The height", f"{height:g} cm", f"from {SMALLEST:g} to {TALLEST:g} cm; measure her again")
    for rule, length in (measured or {}).items():
        if not 5 <= length <= 1500:
            raise OutOfRange(f"The measured {rule}", f"{length:g} cm", "a length in cm from 5 to 1500")
    expected = heights_at(age) if height is None and age is not None else None
    stature = height if height is not None else expected[1] if expected else 0.0
    return Child(stature, age, level, measured or NO_LENGTHS, expected)


def heights_at(age: float) -> tuple[float, float, float]:
    """Return the 5th, 50th and 95th percentile of girls' height in cm at an age of 6 to 13 years."""
    low, part = _between(age)
    lower, upper = HEIGHTS[low], HEIGHTS[min(low + 1, OLDEST)]
    five, half, most = (a + (b - a) * part for a, b in zip(lower, upper, strict=True))
    return five, half, most


def longer_trunk(age: float | None) -> float:
    """Return by what fraction of her height a girl's trunk is longer, and her legs shorter, than in the table.

    The table holds for grown-ups; the ratio at 13 stands for theirs (our assumption). 0 when her age is not known.
    """
    if age is None:
        return 0.0
    low, part = _between(age)
    ratio = SITTING[low] + (SITTING[min(low + 1, OLDEST)] - SITTING[low]) * part
    return ratio - SITTING[OLDEST]


def _between(age: float) -> tuple[int, float]:
    low = min(max(int(age), YOUNGEST), OLDEST)
    return low, min(max(age - low, 0.0), 1.0)


def length(rule: SizeRule, child: Child, level: int, offset: float = 0.0) -> float:
    """Return in cm what a rule gives for a child, the card's offset added; never above the rule's caps."""
    if rule.id in child.measured:
        base = child.measured[rule.id]
    else:
        part = rule.of_height + rule.per_level * max(0, level - 3)
        if rule.at_most_of_height is not None:
            part = min(part, rule.at_most_of_height)
        if rule.age == "legs":
            part -= longer_trunk(child.age) * rule.of_height / HIP
        elif rule.age == "trunk":
            part += longer_trunk(child.age)
        base = part * child.height + rule.plus_cm
    if rule.caps:
        base = min(base, rule.caps[min(max(level, 1), len(rule.caps)) - 1])
    return max(0.0, base + (min(0.0, offset) if rule.caps else offset))
