"""What is known of a child: heights at an age, proportions, what is refused."""

import csv
from pathlib import Path

import pytest

from kb.errors import OutOfRange
from kb.size.child import HEIGHTS, SITTING, child_of, heights_at, longer_trunk

ROWS = list(
    csv.DictReader(
        (Path(__file__).parents[1] / "fixtures" / "cdc_girls_stature.tsv").read_text("utf-8").splitlines()[1:],
        delimiter="\t",
    )
)
Z = {"P5": -1.6448536, "P50": 0.0, "P95": 1.6448536}
"""Standard normal quantiles."""


def percentile(row: dict[str, str], name: str) -> float:
    """Return M(1+LSz)^(1/L), the definition of a percentile in the LMS method."""
    curve, median, spread = (float(row[letter]) for letter in "LMS")
    return float(median * (1 + curve * spread * Z[name]) ** (1 / curve))


@pytest.mark.parametrize("age", HEIGHTS)
def test_heights_are_those_of_the_lms_columns(age: int) -> None:
    """Our percentiles at whole years are what the CDC's L, M and S give at 12a + 0.5 months."""
    row = next(row for row in ROWS if float(row["Agemos"]) == 12 * age + 0.5)
    for ours, name in zip(HEIGHTS[age], Z, strict=True):
        assert ours == pytest.approx(percentile(row, name), abs=0.001)
        assert ours == pytest.approx(float(row[name]), abs=0.0001)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["Agemos"])
def test_heights_between_years(row: dict[str, str]) -> None:
    """Between whole years a straight line is never more than 8 mm off."""
    age = (float(row["Agemos"]) - 0.5) / 12
    for ours, name in zip(heights_at(age), Z, strict=True):
        assert ours == pytest.approx(float(row[name]), abs=0.8)


@pytest.mark.parametrize(
    ("age", "ratio"),
    [(6, 0.5413), (7, 0.5357), (8, 0.5306), (9, 0.5263), (10, 0.5224), (11, 0.5187), (12, 0.5161), (13, 0.5159)],
)
def test_sitting_height(age: int, ratio: float) -> None:
    """Fredriks et al., Arch Dis Child 2005;90:807, girls' medians; the younger the girl, the longer her trunk."""
    assert SITTING[age] == ratio
    assert longer_trunk(age) == pytest.approx(ratio - 0.5159)
    assert longer_trunk(None) == 0


@pytest.mark.parametrize(
    ("height", "age", "says"),
    [
        (60, None, "60 cm; it must be from 95 to 180"),
        (220, None, "220 cm; it must be from 95 to 180"),
        (None, 3, "from 6 to 13 years"),
        (None, 15, "give her height in cm instead"),
        (None, None, "--height CM, or --age"),
    ],
)
def test_a_child_outside_the_tables_is_refused(height: float | None, age: float | None, says: str) -> None:
    """The reason and the range are named."""
    with pytest.raises(OutOfRange, match=says):
        child_of(height, age)


def test_a_measured_length_that_no_child_has() -> None:
    """A slip of the tape is refused too."""
    with pytest.raises(OutOfRange, match="hip-height is 2000 cm"):
        child_of(128, None, None, {"hip-height": 2000})
