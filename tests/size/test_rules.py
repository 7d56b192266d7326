"""The rules of vocabulary/sizes.yaml against the published proportions, against worked examples, and in order."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.facade import Library
from kb.size.child import Child, length

WINTER = {
    "hip-height": 0.530,
    "shoulder-height": 0.818,
    "knee-height": 0.285,
    "reach-overhead": 0.818 + 0.440,
    "seat-height-upside-down": 0.332 + 0.288,
    "feet-on-block-hang": 0.818 + 0.440 - 0.108 / 2,
}
"""Fractions of stature, Drillis & Contini 1966 in Winter 2009, Fig. 4.1, added up by hand."""


@pytest.mark.parametrize("rule", WINTER)
@pytest.mark.parametrize("height", [100.0, 128.0, 160.0])
def test_lengths_of_the_body(starter: Library, rule: str, height: float) -> None:
    """Lengths are within .003 of her height of the published ones."""
    found = length(starter.vocabulary.sizes[rule], Child(height), 3)
    assert found == pytest.approx(WINTER[rule] * height, abs=0.003 * height)


EXAMPLES = [
    # rule, height, age, level, cm; worked by hand in DEVELOPERS.md
    ("hip-height", 110, None, 3, 58.3),
    ("drop-height-cap", 110, None, 3, 30.0),
    ("drop-height-cap", 110, None, 4, 31.35),
    ("free-hang", 128, None, 4, 173.7),
    ("round-off-obstacle-height", 128, None, 4, 24.3),
    ("hip-height", 133.13, 9, 5, 69.2),
    ("seat-height-upside-down", 133.13, 9, 5, 83.9),
]


@pytest.mark.parametrize(("rule", "height", "age", "level", "cm"), EXAMPLES)
def test_worked_examples(starter: Library, rule: str, height: float, age: float | None, level: int, cm: float) -> None:
    """Three children by hand: 110 cm at level 3 or 4, 128 cm at level 4, a nine-year-old of median height."""
    assert length(starter.vocabulary.sizes[rule], Child(height, age), level) == pytest.approx(cm, abs=0.05)


@given(
    low=st.floats(95, 179),
    more=st.floats(0, 60),
    level=st.integers(1, 10),
    age=st.none() | st.floats(6, 13),
    offset=st.floats(-60, 60),
)
def test_every_rule_grows_with_height(
    starter: Library, low: float, more: float, level: int, age: float | None, offset: float
) -> None:
    """A taller child never gets a smaller station."""
    for rule in starter.vocabulary.sizes.values():
        small = length(rule, Child(low, age), level, offset)
        assert length(rule, Child(min(low + more, 180), age), level, offset) >= small - 1e-9


@given(height=st.floats(95, 180), level=st.integers(1, 10), offset=st.floats(-60, 60))
def test_a_cap_is_a_cap(starter: Library, height: float, level: int, offset: float) -> None:
    """No drop is above the child's knee or the cap of her level, whatever a card adds."""
    found = length(starter.vocabulary.sizes["drop-height-cap"], Child(height), level, offset)
    assert found <= min(0.285 * height, {1: 20, 2: 30, 3: 30, 4: 40, 5: 40}.get(level, 50)) + 1e-9


def test_rules_are_many_and_used(starter: Library) -> None:
    """At least 14 rules, each used by a card, by at least 60 cards; each says how to measure and from where it is."""
    words = starter.vocabulary
    cards = [starter.card(name) for name in starter.index.card_ids]
    used = {use.rule for card in cards for use in card.size}
    assert used == set(words.sizes)
    assert len(used) >= 14
    assert sum(bool(card.size) for card in cards) >= 60
    for rule in words.sizes.values():
        assert len(rule.measure) > 15
        assert "Winter" in rule.source or "common practice, no source" in rule.source
