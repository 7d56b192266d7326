"""Likeness of documents as people judge it, on the data of Lee, Pincombe & Welsh 2005.

"An empirical evaluation of models of text document similarity": 50 news items, all 1,225 pairs rated by people. The
data ship with gensim; the published figures are Pearson correlations.
"""

from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from kb.index.encode import Encoder

PUBLISHED = {
    "people among each other (published)": "about 0.6",
    "best latent semantic analysis (published)": "about 0.6",
    "best word model (published)": "about 0.5",
}
LEAST = 0.60
PAIRS = 1225


def data(file: str) -> Path:
    """Return a file of gensim's test data."""
    spec = find_spec("gensim")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent / "test" / "test_data" / file


@pytest.fixture(scope="module")
def people() -> NDArray[np.float64]:
    """Return what people say: the matrix's upper triangle, row by row (below it stand zeros)."""
    matrix = np.loadtxt(data("similarities0-1.txt"))
    return matrix[np.triu_indices(50, k=1)]


def agreement(encoder: Encoder, people: NDArray[np.float64]) -> float:
    """Return the Pearson correlation of cosines with people's ratings."""
    documents = data("lee.cor").read_text("latin-1").splitlines()
    vectors = encoder.encode(documents)
    likeness = (vectors @ vectors.T)[np.triu_indices(len(documents), k=1)]
    return float(np.corrcoef(likeness, people)[0, 1])


def test_data_is_what_was_published(people: NDArray[np.float64]) -> None:
    """50 documents, 1,225 pairs, ratings from 0.2 (unrelated) to 1."""
    assert len(data("lee.cor").read_text("latin-1").splitlines()) == 50
    assert people.shape == (PAIRS,)
    assert people.min() >= 0.2
    assert people.max() <= 1


def test_shipped_encoder_agrees_with_people(
    shipped: Encoder, reference: Encoder, people: NDArray[np.float64], capsys: pytest.CaptureFixture[str]
) -> None:
    """What ships agrees with people at least as well as people with each other; the figures are printed."""
    ours = agreement(shipped, people)
    rows = {shipped.name: f"{ours:.3f}", reference.name: f"{agreement(reference, people):.3f}"} | PUBLISHED
    with capsys.disabled():
        print("\nLee, Pincombe & Welsh 2005, Pearson correlation with people over 1,225 pairs:")
        print("\n".join(f"  {name:45} {value}" for name, value in rows.items()))
    assert ours >= LEAST
