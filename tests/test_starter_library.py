"""The starter library keeps its promises: size, ladders, faults, phrases, safety, and the values it borrows."""

import re
from collections import Counter
from collections.abc import Iterator

import numpy as np
import pytest

from kb.facade import Library
from kb.ladder import skill_rungs
from kb.ladder.map import library_map
from kb.library import Collection
from kb.model import SECTIONS, Card, Fault

LEAST_CARDS = {"shapes": 45, "vault": 55, "bars": 65, "beam": 55, "floor": 60}
PAIN = re.compile(r"\b(hurts?|hurting|pain|painful|injur\w*|sore|aches?|aching|sprain\w*)\b", re.I)
PERSON_OR_BRAND = re.compile(r"\b(?:Mr|Mrs|Ms|Dr|Coach) [A-Z][a-z]+|®|™|https?://")


@pytest.fixture(scope="module")
def library(starter: Library) -> Collection:
    """Return the starter library as it stands in the folder."""
    return starter.collection


def test_nothing_is_wrong_with_it(library: Collection) -> None:
    """`check` is clean on the whole library."""
    assert [str(problem) for problem in library.problems if not problem.warning] == []


def test_it_is_large_enough_for_a_season(library: Collection) -> None:
    """Cards by event, faults, skills and kit reach what a club needs."""
    by_event = Counter(card.event for card in library.cards.values())
    assert {event: by_event[event] for event, least in LEAST_CARDS.items() if by_event[event] < least} == {}
    assert len(library.cards) >= 280
    words = library.vocabulary
    assert (len(words.faults) >= 150, len(words.skills) >= 60, len(words.equipment) >= 50) == (True, True, True)


def test_the_map_is_true(library: Collection, starter: Library) -> None:
    """MAP.md is what `drillkb check --map` writes today."""
    assert (starter.folder / "MAP.md").read_text("utf-8") == library_map(library)


def ladders(library: Collection) -> Iterator[tuple[str, list[list[Card]]]]:
    """Yield every skill with the cards of its rungs."""
    for skill in library.vocabulary.skills:
        rungs = skill_rungs(skill, library.cards, library.vocabulary.stages)
        yield skill, [[library.cards[name] for name in names] for names in rungs]


def test_every_skill_has_a_ladder(library: Collection) -> None:
    """At least four rungs, the lowest on the floor, and for nearly all more than one way somewhere."""
    short = {skill: len(rungs) for skill, rungs in ladders(library) if len(rungs) < 4}
    assert short == {}
    high = [skill for skill, rungs in ladders(library) if not any(c.stage.startswith("floor") for c in rungs[0])]
    assert high == []
    one_way = [skill for skill, rungs in ladders(library) if all(len(rung) == 1 for rung in rungs)]
    assert len(one_way) <= 5, one_way


def test_every_ladder_has_something_without_special_kit(library: Collection) -> None:
    """A gym with mats, a floor, a wall, a bench and small things can begin every skill, stand-ins counted."""
    kit = library.vocabulary.equipment
    plain = {item.id for item in kit.values() if item.kind in ("mat", "hall", "target", "hand")} | {
        "sprung-floor",
        "bench",
    }

    def is_plain(card: Card) -> bool:
        return all({p.item, *p.instead, *kit[p.item].instead} & plain for p in card.equipment)

    assert [s for s, rungs in ladders(library) if not any(is_plain(c) for rung in rungs for c in rung)] == []


def test_every_fault_can_be_worked_on(library: Collection) -> None:
    """Three cards or more on two stages or more, and for every cause a card made for it among the first."""
    cards: dict[str, list[Card]] = {}
    for card in library.cards.values():
        for fault in {use.fault for use in card.corrects}:
            cards.setdefault(fault, []).append(card)
    faults = library.vocabulary.faults
    assert {name: len(cards.get(name, [])) for name in faults if len(cards.get(name, [])) < 3} == {}
    assert [name for name in faults if len({card.stage for card in cards[name]}) < 2] == []
    lonely = [
        f"{fault.id}.{cause.id}"
        for fault in faults.values()
        for cause in fault.causes
        if not any(
            use.fault == fault.id and use.cause == cause.id and use.weight == 3
            for name in cause.first
            for use in library.cards[name].corrects
        )
    ]
    assert lonely == []


def said(library: Collection) -> Iterator[tuple[Fault, str]]:
    """Yield every fault with every way it is said."""
    for fault in library.vocabulary.faults.values():
        for phrase in fault.heard_as:
            yield fault, phrase


def test_phrases(library: Collection) -> None:
    """Ten ways or more for each fault, each phrase used once, none about pain, none copied from a card."""
    assert [f.id for f in library.vocabulary.faults.values() if len(f.heard_as) < 10] == []
    plain = Counter(" ".join(re.findall(r"\w+", phrase.lower())) for _, phrase in said(library))
    assert [phrase for phrase, often in plain.items() if often > 1] == []
    assert [phrase for _, phrase in said(library) if PAIN.search(phrase)] == []
    bodies = " ".join(" ".join(card.sections.values()) for card in library.cards.values()).lower()
    assert [phrase for _, phrase in said(library) if len(phrase.split()) >= 4 and phrase.lower() in bodies] == []


def test_bodies_are_as_long_as_a_card_should_be(library: Collection) -> None:
    """120 to 260 words, all sections, two to four cues that a child can follow."""
    words = {c.id: sum(len(t.split()) for t in c.sections.values()) for c in library.cards.values()}
    assert {name: count for name, count in words.items() if not 120 <= count <= 260} == {}
    for card in library.cards.values():
        assert tuple(card.sections) == SECTIONS
        cues = re.findall(r'^- "(.+?)"', card.sections["Say"], re.M)
        assert 2 <= len(cues) <= 4, card.id
        assert max(len(cue.split()) for cue in cues) <= 9, card.id


def test_no_sentence_stands_on_two_cards(library: Collection) -> None:
    """A sentence of twelve words or more belongs to one card; the same apparatus may be set up in the same words."""
    homes: dict[str, set[str]] = {}
    for card in library.cards.values():
        text = " ".join(body for heading, body in card.sections.items() if heading != "Set up")
        for sentence in re.split(r"(?<=[.!?])\s+|\n", text):
            if len(sentence.split()) >= 12:
                homes.setdefault(sentence.lower().strip(" -*"), set()).add(card.id)
    assert {sentence: ids for sentence, ids in homes.items() if len(ids) > 1} == {}


def test_no_two_cards_mean_the_same(starter: Library) -> None:
    """No pair of cards is closer than cosine 0.92, each card the mean of its passages."""
    index = starter.index
    rows, names = index.vectors("passages"), [card for card, _ in index.passages]
    cards = sorted(set(names))
    means = np.array([rows[[n == card for n in names]].mean(axis=0) for card in cards])
    means /= np.linalg.norm(means, axis=1, keepdims=True)
    cosines = np.triu(means @ means.T, 1)
    close = zip(*np.where(cosines > 0.92), strict=True)
    pairs = [(cards[a], cards[b], round(float(cosines[a, b]), 3)) for a, b in close]
    assert pairs == []


def test_no_names_no_brands_no_links(library: Collection) -> None:
    """Cards name no person, no product and no page of others."""
    assert [c.id for c in library.cards.values() if PERSON_OR_BRAND.search(" ".join(c.sections.values()))] == []


# FIG apparatus page for WAG (vault table 125 high, 120 x 95; beam 500 x 10 x 125; bars 250 and 170), Western Australia
# sport dimensions guide citing FIG Norms 2015 (landing mat 20), FIG WAG Code of Points 2009-12 art. 1.1 (soft mat 10),
# USAG optional code, bars ch. 1 (nominal 4 1/2 in = 12, 8 in = 20).
FIG_CM = {
    "vault-table": (120, 95, 125),
    "high-beam": (500, 10, 125),
    "high-bar": (None, None, 250),
    "low-bar": (None, None, 170),
    "run-up": (2500, None, None),
    "sprung-floor": (1200, 1200, None),
    "landing-mat-20": (None, None, 20),
    "landing-mat-12": (None, None, 12),
    "soft-mat-10": (None, None, 10),
    "soft-mat-20": (None, None, 20),
}


@pytest.mark.parametrize("item", FIG_CM)
def test_apparatus_has_its_published_size(library: Collection, item: str) -> None:
    """Length, width and height in cm are those of the source, and the entry names a source."""
    piece = library.vocabulary.equipment[item]
    assert all(want in (None, have) for want, have in zip(FIG_CM[item], piece.cm, strict=True))
    assert "measure yours" in piece.source or re.search(r"FIG|USAG|Western Australia", piece.source)


def test_every_dimension_has_a_source(library: Collection) -> None:
    """A size is published and says where, or is typical and says so."""
    wanted = re.compile(r"typical, measure yours|FIG|USAG|Western Australia")
    assert [item.id for item in library.vocabulary.equipment.values() if not wanted.search(item.source)] == []


# Row by row: USAG level 3 vault (secondary text); USAG optional bars sheet, 15 Jul 2013 (read); FIG WAG (from memory,
# except the fall).
DEDUCTIONS = {
    "usag-l3-vault-arch": "up to 0.30",
    "usag-l3-vault-pike": "up to 0.50",
    "usag-l3-vault-legs-bent": "up to 0.30",
    "usag-l3-vault-legs-apart": "up to 0.20",
    "usag-l3-vault-feet": "up to 0.10",
    "usag-l3-vault-head": "up to 0.10",
    "usag-l3-vault-arms-bent": "up to 0.50",
    "usag-l3-vault-shoulder-angle": "up to 0.30",
    "usag-l3-vault-no-vertical": "2.00",
    "usag-opt-bars-bent": "up to 0.30 (90 degrees or more 0.30)",
    "usag-opt-bars-kip-extension": "up to 0.10",
    "usag-opt-bars-intermediate-swing": "0.30",
    "usag-opt-bars-fall": "0.50",
    "usag-opt-bars-extra-steps": "0.10 each, at most 4",
    "fig-bent": "0.10/0.30/0.50",
    "fig-leg-separation": "0.10/0.30",
    "fig-stretched-body": "0.10/0.30",
    "fig-extra-step": "0.10",
    "fig-deep-squat": "0.50",
    "fig-fall": "1.00",
}


def test_deductions_are_those_of_the_rule_sets(library: Collection) -> None:
    """Every row has its value, rule set and edition; about forty faults carry one, of their own event."""
    rows = library.vocabulary.deductions
    assert {name: row.points for name, row in rows.items()} == DEDUCTIONS
    assert all(row.rule_set and row.edition for row in rows.values())
    carrying = [fault for fault in library.vocabulary.faults.values() if fault.deduction]
    assert 35 <= len(carrying) <= 60
    wrong = [
        fault.id
        for fault in carrying
        if ("vault" in str(fault.deduction) and fault.event != "vault")
        or ("bars" in str(fault.deduction) and fault.event != "bars")
    ]
    assert wrong == []


# Common practice of the trade, no source.
def test_shapes_come_before_apparatus(library: Collection) -> None:
    """Every card builds in the end on cards of the floor."""

    def roots(card: Card) -> set[str]:
        return {card.stage} if not card.after else set().union(*(roots(library.cards[name]) for name in card.after))

    assert {stage for card in library.cards.values() for stage in roots(card)} <= {"floor", "floor-moving"}


def test_beam_handstand_is_mastered_on_a_floor_line_first(library: Collection) -> None:
    """The first rung with a line on the floor stands below the first rung on any beam (common practice, no source)."""
    rungs = skill_rungs("beam-handstand", library.cards, library.vocabulary.stages)
    kit = [{p.item for name in rung for p in library.cards[name].equipment} for rung in rungs]
    line = next(place for place, items in enumerate(kit) if "floor-line" in items)
    beam = next(place for place, items in enumerate(kit) if items & {"floor-beam", "low-beam", "mid-beam", "high-beam"})
    assert line < beam


def test_block_starts_from_the_floor(library: Collection) -> None:
    """A block drill starts from the floor before it is raised (common practice, no source)."""
    rungs = skill_rungs("vault-block", library.cards, library.vocabulary.stages)
    assert all(library.cards[name].stage in ("floor", "floor-moving") for name in rungs[0])


def test_hands_on_drills_have_a_twin_that_runs_as_a_station(library: Collection) -> None:
    """Every hands-on drill names one that needs no spotter (common practice, no source)."""
    for card in library.cards.values():
        if card.spotting.grade == "hands-on":
            assert library.cards[str(card.no_spot_twin)].spotting.spotters == 0, card.id
