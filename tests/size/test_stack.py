"""Stacks against brute force: every set of layers tried, none better than the one that was chosen."""

from collections import Counter
from itertools import combinations_with_replacement

from hypothesis import given, settings
from hypothesis import strategies as st

from kb.model import Equipment
from kb.size.build import Wanted, cost
from kb.size.pieces import Layer, Owned, layers
from kb.size.stack import LAYERS, PIECES, stacks


def mat(name: str, long: float, wide: float, high: float, folds: bool) -> Equipment:
    """Return an invented firm mat."""
    folded = (wide, long / 4, high * 4) if folds else None
    return Equipment(name, name, "mat", (), (long, wide, high), True, True, "feet", "invented", folded_cm=folded)


LINES = st.lists(
    st.tuples(st.sampled_from([90.0, 120.0, 240.0]), st.sampled_from([60.0, 100.0]), st.integers(3, 40), st.booleans()),
    min_size=1,
    max_size=3,
)


@settings(max_examples=60, deadline=None)
@given(lines=LINES, counts=st.lists(st.integers(1, 3), min_size=3, max_size=3), target=st.integers(5, 120))
def test_no_stack_is_better(lines: list[tuple[float, float, int, bool]], counts: list[int], target: int) -> None:
    """Among all sets of layers that the rules allow, none costs less than the best of the table."""
    kit = [
        Owned(mat(f"mat-{n}", long, wide, high, folds), counts[n], (long, wide, high))
        for n, (long, wide, high, folds) in enumerate(lines)
    ]
    choices = [layer for n, piece in enumerate(kit) for layer in layers(n, piece)]
    table = stacks(choices, counts, 400)
    want = Wanted(target, 5, "")
    best = min(cost(high, stack.pieces, want) for high, stack in table.items())
    assert best == min(cost(high, pieces, want) for high, pieces in by_hand(choices, counts))
    for high, stack in table.items():
        assert high == round(stack.high, 1)
        sides = [layer.wide for layer in stack.layers]
        assert sides == sorted(sides, reverse=True)


def by_hand(choices: list[Layer], counts: list[int]) -> list[tuple[float, int]]:
    """Return height and pieces of every allowed set of layers, found by trying them all."""
    found = []
    for many in range(LAYERS + 1):
        for way in combinations_with_replacement(choices, many):
            used = Counter(layer.source for layer in way)
            high = {n: sum(layer.high for layer in way if layer.source == n) for n in used}
            narrow = {n: min(layer.wide for layer in way if layer.source == n) for n in used}
            safe = all(used[n] == 1 or high[n] <= 1.5 * narrow[n] for n in used)
            if safe and len(way) <= PIECES and all(used[n] <= counts[n] for n in used):
                found.append((round(sum(high.values()), 1), len(way)))
    return found


def test_pieces_side_by_side_under_a_wide_mat() -> None:
    """Folded mats of 120 by 60 under a mat of 240 by 150 are laid in twos and twos."""
    folded = Layer(0, mat("panel", 240, 120, 5, folds=True), "folded", 20, 120, 60)
    below = folded.under(240, 150)
    assert below is not None
    assert (below.pieces, below.long, below.wide) == (4, 240, 120)
    assert folded.under(900, 900) is None


def test_forms_of_a_folding_mat() -> None:
    """A mat that folds lies open, folded once or folded up."""
    forms = layers(0, Owned(mat("panel", 240, 120, 5, folds=True), 1, (240, 120, 5)))
    assert [(form.form, form.high) for form in forms] == [("open", 5), ("folded once", 10), ("folded", 20)]
