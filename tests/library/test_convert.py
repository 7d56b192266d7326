"""Converting: every wrong field is told at once, with what was found, what is allowed and the nearest valid word."""

from typing import Annotated, Any, Literal

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Meta, Struct

from kb.library.convert import convert_fields, convert_one, dotted
from kb.library.needs import PATTERNS, needs
from kb.library.safeyaml import Located, read_yaml
from kb.model import Equipment, Fault, FrontMatter
from kb.model.card import Id


class Hold(Struct, frozen=True, forbid_unknown_fields=True):
    """A thing inside a thing."""

    place: Literal["seat", "shoulder", "thigh"]
    seconds: Annotated[int, Meta(ge=1, le=60)]
    note: str = ""


class Spot(Struct, frozen=True, forbid_unknown_fields=True):
    """A thing with every kind of field."""

    id: Id
    holds: Annotated[tuple[Hold, ...], Meta(min_length=1)]
    span: tuple[float, float] | None = None
    firm: bool = True
    best: Hold | None = None


GOOD = "id: a-b\nholds:\n  - {place: seat, seconds: 3}\n"
WRONG: dict[str, list[str]] = {
    GOOD: [],
    GOOD + "span: [1, 2.5]\nfirm: false\nbest: {place: thigh, seconds: 60, note: x}\n": [],
    GOOD + "span:\nbest: null\n": [],
    "": ["1: found nothing; needs a map with id, holds, span, firm, best"],
    "- a\n": ["1: found a list of 1; needs a map with id, holds, span, firm, best"],
    "firm: true\n": ["1: holds: is missing; it is required", "1: id: is missing; it is required"],
    GOOD + "firn: true\n": ["4: firn: is not a field of this kind; nearest: firm"],
    GOOD + "zzz: true\n": ["4: zzz: is not a field of this kind; there are id, holds, span, firm, best"],
    GOOD + "firm: yes\n": ["4: firm: found 'yes'; needs true or false"],
    GOOD + "span: 5\n": ["4: span: found '5'; needs a list of 2 entries"],
    GOOD + "span: [1]\n": ["4: span: found a list of 1; needs a list of 2 entries"],
    GOOD + "span: [1,\n wide]\n": ["5: span[1]: found 'wide'; needs a number"],
    GOOD + "best: seat\n": ["4: best: found 'seat'; needs a map with place, seconds, note"],
    GOOD + "best: {}\n": ["4: best.place: is missing; it is required", "4: best.seconds: is missing; it is required"],
    GOOD + "best: {place: seat, seconds: 1, note: near, far}\n": [
        "4: best.far: is not a field of this kind; there are place, seconds, note; "
        "text with a comma in it needs quotation marks round it"
    ],
    "id: A B\nholds: []\n": [
        "1: id: found 'A B'; needs lower-case words joined by hyphens, at most 80 characters; nearest: a-b",
        "2: holds: found an empty list; needs a list of 1 entries or more",
    ],
    "id: a\nholds:\n  - {place: seet, seconds: 3}\n  - {place: seat,\n     seconds: 61}\n  - x\n": [
        "3: holds[0].place: found 'seet'; needs one of seat, shoulder, thigh; nearest: seat",
        "5: holds[1].seconds: found '61'; needs a whole number from 1 to 60",
        "6: holds[2]: found 'x'; needs a map with place, seconds, note",
    ],
    "id: |\n  two\n  lines\nholds: {place: seat}\n": [
        "1: id: found 'two lines'; needs lower-case words joined by hyphens, at most 80 characters; nearest: two-lines",
        "4: holds: found a map of 1; needs a list of 1 entries or more",
    ],
}


def said(kind: type[Struct], text: str) -> list[str]:
    """Return the problems of one converted text, in order of line, without the file's name."""
    found, problems = convert_one(kind, read_yaml(text, "f"), (), "f")
    assert (found is None) == bool(problems)
    return [str(problem).removeprefix("f:") for problem in sorted(problems)]


@pytest.mark.parametrize("text", WRONG)
def test_each_wrong_field_is_told(text: str) -> None:
    """Fields at any depth are told with their own line, all in one go."""
    assert said(Spot, text) == WRONG[text]


def test_what_is_right_is_kept_beside_what_is_wrong() -> None:
    """The good fields of a map with a bad one are still there, as model values."""
    good, problems = convert_fields(Spot, read_yaml(GOOD + "firm: maybe\n", "f"), (), "f")
    assert good == {"id": "a-b", "holds": (Hold("seat", 3),)}
    assert [problem.field for problem in problems] == ["firm"]


def test_a_part_of_a_file_keeps_its_place_in_the_names_and_lines() -> None:
    """Converting the second entry of a list speaks of the second entry."""
    source = read_yaml("- {place: seat, seconds: 3}\n- {place: seat, seconds: 0}\n", "f")
    assert convert_one(Hold, source, (0,), "f") == (Hold("seat", 3), [])
    assert [str(problem) for problem in convert_one(Hold, source, (1,), "f")[1]] == [
        "f:2: [1].seconds: found '0'; needs a whole number from 1 to 60"
    ]


NEEDS: list[tuple[Any, str]] = [
    (int, "a whole number"),
    (Annotated[int, Meta(ge=1)], "a whole number of 1 or more"),
    (Annotated[float, Meta(le=60)], "a number up to 60"),
    (str | int, "a whole number or text"),
    (Annotated[str, Meta(max_length=9)], "text of at most 9 characters"),
    (Annotated[tuple[str, ...], Meta(min_length=3, max_length=3)], "a list of 3 entries"),
    (Literal[1, 2, 3] | None, "one of 1, 2, 3"),
]


@pytest.mark.parametrize(("kind", "words"), NEEDS)
def test_a_type_is_said_in_words(kind: Any, words: str) -> None:
    """What a field may hold is said without a word of Python."""
    assert sorted(needs(kind).split(" or ")) == sorted(words.split(" or "))


@pytest.mark.parametrize("kind", [FrontMatter, Equipment, Fault])
def test_no_field_of_the_model_is_beyond_words(kind: type[Struct]) -> None:
    """Every field that can be wrong has words for what it needs, and every pattern too."""
    for field in msgspec.structs.fields(kind):
        if field.name != "figure":
            assert "another value" not in needs(field.type)
    for info in msgspec.inspect.type_info(kind).fields:  # type: ignore[attr-defined]  # a StructType has them
        pattern = getattr(info.type, "pattern", None)
        assert pattern is None or pattern in PATTERNS


def test_dotted() -> None:
    """A path is written with dots and brackets."""
    assert dotted(("corrects", 0, "fault")) == "corrects[0].fault"
    assert dotted((2, "id")) == "[2].id"
    assert dotted(()) == ""


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from([*Spot.__struct_fields__, "x"]), inner),
    max_leaves=8,
)


@given(JSON)
def test_any_value_is_converted_or_told(value: Any) -> None:
    """The answer agrees with msgspec's own: an object when it takes the value, problems when it does not."""
    found, problems = convert_one(Spot, Located(value, {}), (), "f")
    try:
        expected = msgspec.convert(value, Spot)
    except msgspec.ValidationError:
        expected = None
    assert found == expected
    assert (found is None) == bool(problems)
