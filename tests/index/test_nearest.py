"""FAISS against the exact reference: the same neighbours, the same cosines."""

from pathlib import Path

import numpy as np
import pytest

from kb.errors import IndexUnusable
from kb.index.nearest import ExactIndex, FaissIndex, Vectors
from kb.index.neighbours import read_neighbours, write_neighbours


def unit_rows(count: int, seed: int = 0) -> Vectors:
    """Return random unit vectors."""
    rows = np.random.default_rng(seed).standard_normal((count, 32)).astype(np.float32)
    return np.asarray(rows / np.linalg.norm(rows, axis=1, keepdims=True), dtype=np.float32)


@pytest.mark.parametrize("count", [1, 10, 500])
def test_faiss_agrees_with_numpy(count: int) -> None:
    """Both give the same rows and cosines."""
    rows = unit_rows(500)
    exact, fast = ExactIndex(rows), FaissIndex.build(rows)
    assert len(exact) == len(fast) == 500
    for question in unit_rows(20, seed=1):
        (rows_a, cosines_a), (rows_b, cosines_b) = exact.nearest(question, count), fast.nearest(question, count)
        np.testing.assert_array_equal(rows_a, rows_b)
        np.testing.assert_allclose(cosines_a, cosines_b, atol=1e-5)


def test_more_neighbours_than_rows() -> None:
    """Asking for more than there is gives what there is."""
    rows = unit_rows(3)
    assert len(FaissIndex.build(rows).nearest(rows[0], 10)[0]) == 3


def test_file_round_trip_keeps_the_neighbours(tmp_path: Path) -> None:
    """What is written is what is read."""
    path = tmp_path / "library.faiss"
    rows = {"passages": unit_rows(20), "phrases": unit_rows(5, seed=3)}
    write_neighbours(path, "g1", {name: FaissIndex.build(block) for name, block in rows.items()})
    read = read_neighbours(path, "g1")
    for name, block in rows.items():
        assert read[name].nearest(block[2], 1)[0][0] == 2


@pytest.mark.parametrize("damage", ["other generation", "missing", "cut off", "not ours"])
def test_wrong_file_is_refused(tmp_path: Path, damage: str) -> None:
    """A file of another build, or a damaged one, is refused and never half used."""
    path = tmp_path / "library.faiss"
    write_neighbours(path, "g1", {"passages": FaissIndex.build(unit_rows(20))})
    if damage == "missing":
        path.unlink()
    elif damage == "cut off":
        path.write_bytes(path.read_bytes()[:200])
    elif damage == "not ours":
        path.write_bytes(b"hello\nworld")
    with pytest.raises(IndexUnusable):
        read_neighbours(path, "g2" if damage == "other generation" else "g1")
