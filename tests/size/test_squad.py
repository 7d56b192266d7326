"""Squads: as few builds as possible, nobody left out, every build right for each of its children."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.errors import FileUnusable, UnknownName, UsageError
from kb.facade import Library
from kb.size import child_of, squad_sizes, station_sizes
from kb.size.child import length
from tests.support import ROOT

GROUPS = ROOT / "drills" / "demo" / "groups.yaml"
LARKMOOR = ROOT / "drills" / "kits" / "larkmoor.yaml"
CARDS = ["vault-tall-fall", "bars-four-beats-to-stick", "vault-run-flat-back", "floor-call-it-off-block"]


@pytest.mark.parametrize("name", CARDS)
def test_every_child_is_within_the_tolerance_of_her_build(starter: Library, name: str) -> None:
    """Checked child by child with the rule alone, apart from the code that groups."""
    found = starter.squad_size(name, GROUPS, group="Slate", kit=starter.kit_list(LARKMOOR))
    assert sorted((*found.alone, *(child for build in found.builds for child in build.children))) == [
        f"Slate {number}" for number in range(1, 8)
    ]
    heights = dict(enumerate([119, 123, 126, 127, 129, 131, 134], start=1))
    card = starter.card(name)
    for build in found.builds:
        for use, piece in zip(card.size, build.sizes.pieces, strict=True):
            rule = starter.vocabulary.sizes[use.rule]
            for child in build.children:
                target = length(rule, child_of(heights[int(child.split()[1])], None, 4), 4, use.offset_cm)
                reached = piece.reached_cm or 0.0
                if (use.limit or rule.limit) == "at-most":
                    assert reached <= target + 0.1
                elif rule.limit == "at-least":
                    assert target - 0.1 <= reached
                else:
                    assert abs(reached - target) <= rule.tolerance_cm + 0.1


@settings(max_examples=12, deadline=None)
@given(heights=st.lists(st.integers(105, 160), min_size=1, max_size=5), name=st.sampled_from(CARDS))
def test_no_other_grouping_needs_fewer_builds(starter: Library, heights: list[int], name: str) -> None:
    """Every way to split the squad is tried by hand."""
    card, words = starter.card(name), starter.vocabulary
    kit = starter.kit_list(LARKMOOR)
    squad = [(f"Slate {number}", child_of(height, None, 4)) for number, height in enumerate(heights, start=1)]
    found = squad_sizes(card, squad, words, kit)

    def fits(children: list[int]) -> bool:
        sizes = station_sizes(card, [squad[n][1] for n in children], words, kit, advise=False)
        return sizes is not None and sizes.fits

    able = [n for n in range(len(squad)) if fits([n])]
    assert len(found.alone) == len(squad) - len(able)
    best = min((len(split) for split in splits(able) if all(fits(part) for part in split)), default=0)
    assert len(found.builds) == best


def splits(items: list[int]) -> Iterator[list[list[int]]]:
    """Yield every way to split a list into groups."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for split in splits(rest):
        yield [[first], *split]
        for place in range(len(split)):
            yield [*split[:place], [first, *split[place]], *split[place + 1 :]]


def test_a_squad_that_there_is_not(starter: Library, tmp_path: Path) -> None:
    """Squads, files and missing heights are named."""
    with pytest.raises(UnknownName, match="Slate"):
        starter.squad_size("vault-tall-fall", GROUPS, group="Slat")
    with pytest.raises(FileUnusable, match="no such file"):
        starter.squad_size("vault-tall-fall", tmp_path / "none.yaml")
    bare = tmp_path / "bare.yaml"
    bare.write_text("groups:\n  - {name: Tin, level: 3, count: 4}\n", "utf-8")
    with pytest.raises(UsageError, match="no heights"):
        starter.squad_size("vault-tall-fall", bare)
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text("groups:\n  - {name: Tin, level: 3, count: 4, heights: [120]}\n", "utf-8")
    with pytest.raises(FileUnusable, match=r"wrong.yaml:2: Tin counts 4 children and gives 1 heights"):
        starter.squad_size("vault-tall-fall", wrong)
