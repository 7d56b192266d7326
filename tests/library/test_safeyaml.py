"""Reading YAML: plain values with the line of each, and one kind of error for everything else."""

import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.errors import FileUnusable
from kb.library import safeyaml
from kb.library.safeyaml import Located, read_yaml

PARSERS = [yaml.SafeLoader] + ([yaml.CSafeLoader] if yaml.__with_libyaml__ else [])


@pytest.fixture(params=PARSERS, ids=lambda parser: parser.__name__, autouse=True)
def _parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Run every test over the C parser and the slow one: an installation has one or the other."""
    monkeypatch.setattr(safeyaml, "_LOADER", request.param)


VALUES: dict[str, Any] = {
    "5": 5,
    "-3": -3,
    "007": 7,
    "1.10": 1.1,
    ".5": 0.5,
    "1e3": 1000.0,
    "true": True,
    "False": False,
    "TRUE": True,
    "null": None,
    "~": None,
    "": None,
    # What YAML 1.1 would turn into something that the coach did not write.
    "yes": "yes",
    "No": "No",
    "on": "on",
    "OFF": "OFF",
    "y": "y",
    "12:30": "12:30",
    "2013-07-15": "2013-07-15",
    "2013-07-15 10:00:00": "2013-07-15 10:00:00",
    "0x1F": "0x1F",
    "0o17": "0o17",
    "1_000": "1_000",
    ".inf": ".inf",
    ".nan": ".nan",
    "3-5": "3-5",
    "1.2.3": "1.2.3",
    "=": "=",
    # Numbers that no column and no float can hold are text, and do not overflow.
    "1e999": "1e999",
    "9" * 19: "9" * 19,
    "9" * 5000: "9" * 5000,
    # Quoted text is text.
    '"5"': "5",
    "'true'": "true",
    '""': "",
    '"caf\\u00e9"': "café",
    "|\n  5\n": "5\n",
    ">-\n  two\n  lines\n": "two lines",
    "[1, [two, 3.0], {a: b}]": [1, ["two", 3.0], {"a": "b"}],
    "&name text": "text",
}


@pytest.mark.parametrize("written", VALUES, ids=lambda text: text[:25] or "nothing")
def test_a_value_is_read_as_the_coach_wrote_it(written: str) -> None:
    """Numbers, true, false and null are read; everything else, dates and yes and no too, stays text."""
    read = read_yaml(f"value: {written}", "f").value["value"]
    assert read == VALUES[written]
    assert type(read) is type(VALUES[written])


BOMB = "a: &a [x, x]\n" + "".join(
    f"{b}: &{b} [*{a}, *{a}, *{a}]\n" for a, b in zip("abcdefgh", "bcdefghi", strict=True)
)
REFUSED = {
    "key twice": ("a: 1\nb: 2\na: 3", 3, "gives 'a' twice"),
    "key twice inside": ("a:\n  - {b: 1, b: 2}", 2, "gives 'b' twice"),
    "alias": ("a: &x [1]\nb: 2\nc: *x", 3, "uses an alias"),
    "alias in a list": ("a: &x 1\nb:\n  - 2\n  - *x", 2, "uses an alias"),
    "alias as a key": ("&x a: 1\nb: {*x : 2}", 2, "uses an alias"),
    "alias of itself": ("a: &x [*x]", 1, "is not valid YAML|uses an alias"),
    "alias of nothing": ("a: *x", 1, "undefined alias"),
    "billion laughs": (BOMB, 2, "uses an alias"),
    "python object": ("a: !!python/object/apply:os.system [ls]", 1, "uses the tag"),
    "python name": ("a: 1\nb: !!python/name:os.system ''", 2, "uses the tag"),
    "binary": ("a: !!binary aGVsbG8=", 1, "uses the tag"),
    "set": ("a: !!set {x, y}", 1, "uses the tag"),
    "own tag": ("a: !spot x", 1, "uses the tag '!spot'"),
    "tag on a key": ("!spot a: 1", 1, "uses the tag '!spot'"),
    "merge": ("a: 1\n<<: {b: 2}", 2, "uses the tag"),
    "list as a key": ("a: 1\n? [b, c]\n: 2", 2, "key that is not a word"),
    "two documents": ("a: 1\n---\nb: 2", 2, "is not valid YAML"),
    "tab": ("a:\n\t- b", 2, "is not valid YAML"),
    "unclosed list": ("a: [1, 2\nb: 3\n", 2, "is not valid YAML"),
    "unclosed quote": ('a: "x\nb: 3\n', 3, "is not valid YAML"),
    "bad escape": ('a: "\\q"', 1, "is not valid YAML"),
    "colon in text": ("a: b: c", 1, "Put quotes round text"),
    "indentation": ("a:\n  - b\n - c", 3, "check the indentation"),
    "control character": ("a: \x07", 1, "is not valid YAML"),
    "half a character": ("a: \ud800", 1, "is not valid YAML"),
    "list too deep": ("a: " + "[" * 30 + "]" * 30, 1, "nested more than"),
    "map too deep": ("\n".join(" " * n + "a:" for n in range(30)), 22, "nested more than"),
    "absurdly deep list": ("[" * 50_000, 1, "is not valid YAML|uses an alias"),
    "absurdly deep map": ("{a: " * 50_000, 1, "is not valid YAML|uses an alias"),
    "too long": ("a: " + "x" * safeyaml.LARGEST, 0, "Split the file"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_not_plain_yaml_is_refused_with_its_line(name: str) -> None:
    """Everything that is not plain YAML is one kind of error with file, line and remedy."""
    text, line, says = REFUSED[name]
    with pytest.raises(FileUnusable, match=says) as caught:
        read_yaml(text, "vault/x.md")
    assert (caught.value.file, caught.value.line) == ("vault/x.md", line)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("break_", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
@pytest.mark.parametrize("start", ["", "\ufeff"], ids=["plain", "BOM"])
def test_lines_are_those_of_the_editor(break_: str, start: str) -> None:
    """Every part knows its line, whatever the line endings and with or without a byte order mark."""
    text = "# note\na: 1\nb:\n  - {c: 2,\n     d: 3}\n  - e\nf: |\n  x\n  y\ng: 4\n"
    read = read_yaml(start + text.replace("\n", break_), "f", first_line=10)
    lines = {
        ("a",): 11,
        ("b",): 12,
        ("b", 0): 13,
        ("b", 0, "c"): 13,
        ("b", 0, "d"): 14,
        ("b", 1): 15,
        ("f",): 16,
        ("g",): 19,
    }
    assert {path: read.line(path) for path in lines} == lines


def test_a_missing_part_has_the_line_of_what_is_around_it() -> None:
    """The line of a field that is not there is that of the map where it belongs."""
    read = read_yaml("a: 1\nb:\n  - c: 2\n", "f")
    assert read.line(("b", 0, "missing", "deeper")) == 3
    assert read.line(("missing",)) == 1
    assert Located(None, {}).line(("a",)) == 1


@pytest.mark.parametrize("text", ["", "\n\n", "# only a note\n", "---\n", "\ufeff"])
def test_an_empty_file_is_nothing(text: str) -> None:
    """A file without a value is read as None."""
    assert read_yaml(text, "f").value is None


def test_both_parsers_read_the_small_library_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """The fast parser and the slow one agree on values and lines of every fixture file."""
    for path in sorted((Path(__file__).parents[1] / "fixtures" / "small").rglob("*.yaml")):
        read = []
        for parser in PARSERS:
            monkeypatch.setattr(safeyaml, "_LOADER", parser)
            found = read_yaml(path.read_text("utf-8"), path.name)
            read.append((found.value, found.lines))
        assert all(other == read[0] for other in read)


YAML_LIKE = st.text(alphabet="ab1 -:,.[]{}!&*#|>'\"\\\n\t?%@`~<=\r\ufeff\u2028\x00", max_size=60)


@settings(deadline=None, max_examples=400)
@given(st.one_of(YAML_LIKE, st.text(max_size=60), st.lists(YAML_LIKE, max_size=5).map("\n- ".join)))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Whatever the text, it is read or refused by FileUnusable; the line is inside the file."""
    for parser in PARSERS:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(safeyaml, "_LOADER", parser)
            line = refused_at(text)
        assert line is None or 2 <= line <= len(text.splitlines()) + 3


def refused_at(text: str) -> int | None:
    """Return the line for which a text is refused, or None when it can be read."""
    try:
        read_yaml(text, "f", first_line=2)
    except FileUnusable as error:
        return error.line
    return None


NUMBER = re.compile(r"[-+]?(\.\d+|\d+(\.\d*)?)([eE][-+]?\d+)?")
"""A number of YAML 1.2. PyYAML writes by YAML 1.1, so that it leaves the text '0E0' without quotation marks."""

PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.text(alphabet=st.characters(codec="utf-8"), max_size=20).filter(lambda text: not NUMBER.fullmatch(text)),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text("abc-", min_size=1, max_size=8), inner, max_size=4)
    ),
    max_leaves=12,
)


@settings(deadline=None)
@given(PLAIN)
def test_what_pyyaml_writes_is_read_back(value: Any) -> None:
    """Plain values that PyYAML's own writer wrote come back as they were."""
    text = yaml.safe_dump(value, allow_unicode=False, default_style='"' if isinstance(value, str) else None)
    assert read_yaml(text, "f").value == value
