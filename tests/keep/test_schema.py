"""The schema for editors says what `check` says, by the word of a general JSON Schema validator."""

import random
from collections import Counter
from pathlib import Path
from typing import Any

import jsonschema
import msgspec
import pytest
import yaml

from kb.facade import Library
from kb.keep.schema import EXPRESSED, NOT_EXPRESSED, front_matter_schema
from kb.library.checks import CARD_RULES, LINK_RULES, known_words
from kb.library.convert import convert_fields
from kb.library.frontmatter import split_card
from kb.library.safeyaml import Located, read_yaml
from kb.model import Card, FrontMatter, Vocabulary
from tests.support import FIXTURES

VALUES: list[Any] = [
    *(None, True, False, 0, 1, 3, -1, 11, 99, 1000, 2.5, -61.5, "", "x", "Two Words", "3-5", "5-3", "0-4", "x" * 401),
    *("beam", "floor", "low", "watch", "vault-tall-fall", "https://x.y/z", "ftp://x", "none", "high", "at-most"),
    *([], {}, ["beam"], [1, 2], [[]], {"a": 1}, ["a", "b", "c", "d", "e", "f", "g"], [0, 1], ["x"] * 3),
]
"""What is put in the place of something; 3.0 is not among them (NOT_EXPRESSED, 'whole numbers')."""


@pytest.fixture(scope="module")
def validator(starter: Library) -> Any:
    """Return a validator of the starter library's schema."""
    schema = starter.schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def front(path: Path) -> dict[str, Any]:
    """Return the front matter of a card as plain values."""
    halves = split_card(path.read_text("utf-8"), path.name)
    found: dict[str, Any] = read_yaml(halves.front, path.name).value
    return found


def passes_check(value: Any, words: Vocabulary) -> bool:
    """Say what `check` says by the rules that a schema can hold: fields, known words, known faults."""
    good, problems = convert_fields(FrontMatter, Located(value, {}), (), "a.md")
    if problems:
        return False
    card = Card(**good, id="a", file="a.md", sections={})
    return not list(known_words(card, words)) and all(use.fault in words.faults for use in card.corrects)


def mutated(value: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """Return a copy with one to two places changed, removed, added or renamed, however deep."""
    copy: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(value))
    for _ in range(chance.randint(1, 2)):
        places: list[tuple[Any, Any]] = []
        queue: list[Any] = [copy]
        while queue:
            part = queue.pop()
            keys = list(part) if isinstance(part, dict) else list(range(len(part)))
            places += [(part, key) for key in keys]
            queue += [part[key] for key in keys if isinstance(part[key], dict | list)]
        # the shallow places are few among those of a figure: choose the depth first
        part, key = chance.choice(places if chance.random() < 0.4 else [p for p in places if p[0] is copy] or places)
        act = chance.random()
        if act < 0.6:
            part[key] = chance.choice(VALUES)
        elif act < 0.75:
            del part[key]
        elif isinstance(part, dict):
            part[f"{key}s" if act < 0.9 else "notes"] = part.pop(key) if act < 0.85 else chance.choice(VALUES)
        else:
            part.append(chance.choice(VALUES))
    return copy


def test_every_starter_card_passes_both(starter: Library, validator: Any) -> None:
    """No editor underlines a card that `check` passes."""
    words = starter.collection.vocabulary
    for card in starter.collection.cards.values():
        value = front(starter.folder / card.file)
        assert [error.message for error in validator.iter_errors(value)] == []
        assert passes_check(value, words)


def test_500_mutated_cards_get_the_same_verdict(starter: Library, validator: Any) -> None:
    """The validator and `check` agree on each of them."""
    words, chance = starter.collection.vocabulary, random.Random(7)
    fronts = [front(starter.folder / card.file) for card in starter.collection.cards.values()]
    verdicts: Counter[bool] = Counter()
    for number in range(500):
        value = mutated(fronts[number * 7 % len(fronts)], chance)
        expected = passes_check(value, words)
        assert validator.is_valid(value) == expected, value
        verdicts[expected] += 1
    assert min(verdicts.values()) > 30
    assert sum(verdicts.values()) == 500


def test_broken_fixtures_get_the_same_verdict(small: Library) -> None:
    """Those that break a rule that the schema holds are refused by it, the others are not."""
    words = small.collection.vocabulary
    validator = jsonschema.Draft202012Validator(small.schema())
    cases = yaml.safe_load((FIXTURES / "cards" / "expected.yaml").read_text("utf-8"))
    seen: Counter[bool] = Counter()
    for case in cases:
        if not case["file"].endswith(".md") or case["rule"] == "file":
            continue
        value = front(FIXTURES / "cards" / case["file"])
        held = case["rule"] in ("fields", *EXPRESSED) or case["file"] == "known-faults-fault.md"
        assert validator.is_valid(value) != held, case["file"]
        assert passes_check(value, words) != held, case["file"]
        seen[held] += 1
    assert min(seen.values()) > 5


def test_every_rule_of_check_is_in_the_schema_or_named_as_not() -> None:
    """Nobody can add a rule without saying on which side it is."""
    rules = {rule.__name__ for rule in (*CARD_RULES, *LINK_RULES)}
    assert set(EXPRESSED) | set(NOT_EXPRESSED) >= rules
    assert set(EXPRESSED) & set(NOT_EXPRESSED) == set()
    assert set(NOT_EXPRESSED) - rules == {"whole numbers", "headings", "folder", "file"}


def test_what_the_schema_cannot_hold_is_true(starter: Library, validator: Any) -> None:
    """3.0 passes the schema and not `check`: the one difference inside the fields is the one that is named."""
    value = front(starter.folder / next(iter(starter.collection.cards.values())).file)
    value["group"]["minutes"] = 3.0
    assert validator.is_valid(value)
    assert not passes_check(value, starter.collection.vocabulary)
    assert "whole numbers" in front_matter_schema(starter.collection.vocabulary)["$comment"]
