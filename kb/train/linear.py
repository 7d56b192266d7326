"""Linear classifiers over words and runs of letters, and over the encoder's vectors. scikit-learn fits them.

What runs at question time (kb/search/learned.py) is a few arrays: for each word or run of letters the largest weights,
rounded to int8.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from kb.search.learned import ARRAYS, FAMILIES, FORMAT, feature_key

Floats = NDArray[np.float32]


class LinearRecipe(Struct, frozen=True):
    """How the classifiers are fitted; it stands in the manifest."""

    word_strength: float = 10.0
    """Inverse regularisation of the classifier over words and letters (scikit-learn's C)."""
    vector_strength: float = 10.0
    """The same over vectors."""
    least: int = 2
    """Utterances that must hold a run of letters for it to be a feature; a word needs one."""
    kept: float = 0.015
    """Weights smaller than this part of the largest are dropped."""
    rounds: int = 50
    """Steps of the fit."""


class Table:
    """TF-IDF of texts: one sparse row a text, the two families of features each scaled to length 1."""

    def __init__(self, texts: Sequence[str], least: int) -> None:
        self.places: list[dict[str, int]] = []
        self.idf: list[Floats] = []
        for number, family in enumerate(FAMILIES):
            held = Counter(feature for text in texts for feature in set(family(text)))
            names = sorted(name for name, often in held.items() if often >= (least if number else 1))
            self.places.append({name: place for place, name in enumerate(names)})
            # scikit-learn's smoothed form: ln((1 + texts) / (1 + texts that hold it)) + 1
            values = [np.log((1 + len(texts)) / (1 + held[name])) + 1 for name in names]
            self.idf.append(np.array(values, dtype=np.float32))

    def rows(self, texts: Sequence[str]) -> Any:
        """Return the texts as a sparse matrix (texts, features)."""
        from scipy.sparse import hstack

        parts = [
            self._family(texts, family, places, idf)
            for family, places, idf in zip(FAMILIES, self.places, self.idf, strict=True)
        ]
        return hstack(parts).tocsr()

    def _family(
        self, texts: Sequence[str], family: Callable[[str], list[str]], places: dict[str, int], idf: Floats
    ) -> Any:
        from scipy.sparse import csr_matrix

        values: list[float] = []
        columns: list[int] = []
        starts = [0]
        for text in texts:
            counts = Counter(feature for feature in family(text) if feature in places)
            here = [places[feature] for feature in counts]
            row = (1 + np.log(np.array(list(counts.values()), dtype=np.float32))) * idf[here] if here else np.zeros(0)
            length = float(np.sqrt((row**2).sum())) or 1.0
            columns += here
            values += (row / length).tolist()
            starts.append(len(columns))
        return csr_matrix((values, columns, starts), shape=(len(texts), len(places)), dtype=np.float32)

    @property
    def names(self) -> list[str]:
        """The features in the order of the columns."""
        return [name for places in self.places for name in places]


def fit(rows: Any, labels: Sequence[int], classes: int, strength: float, rounds: int) -> tuple[Floats, Floats]:
    """Fit a multinomial logistic regression; return weights (classes, features) and offsets (classes)."""
    import warnings

    from sklearn.exceptions import ConvergenceWarning
    from sklearn.linear_model import LogisticRegression

    model = LogisticRegression(C=strength, max_iter=rounds)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)  # a fixed number of steps is part of the recipe
        model.fit(rows, labels)
    weights = np.zeros((classes, rows.shape[1]), dtype=np.float32)
    offsets = np.full(classes, -30.0, dtype=np.float32)  # a fault that nothing was learned of is never chosen
    weights[model.classes_], offsets[model.classes_] = model.coef_, model.intercept_
    return weights, offsets


class Lesson(Struct, frozen=True):
    """What the classifiers learn from."""

    faults: tuple[str, ...]
    """Names of the classes."""
    texts: tuple[str, ...]
    labels: tuple[int, ...]
    """Place of each text's fault in `faults`."""
    vectors: Any
    """Unit vectors of the texts, shape (texts, dimension)."""
    encoder: str
    """Fingerprint of the encoder that gave them."""


def write_classifiers(folder: Path, lesson: Lesson, recipe: LinearRecipe) -> Path:
    """Fit both classifiers and write them into `folder`."""
    classes = len(lesson.faults)
    table = Table(lesson.texts, recipe.least)
    weights, offsets = fit(table.rows(lesson.texts), lesson.labels, classes, recipe.word_strength, recipe.rounds)
    of_vector, vector_offsets = fit(lesson.vectors, lesson.labels, classes, recipe.vector_strength, 4 * recipe.rounds)
    arrays: dict[str, Any] = {
        "format": np.array(FORMAT),
        "faults": np.array(lesson.faults),
        "encoder": np.array(lesson.encoder),
        "offsets": offsets,
        "of_vector": of_vector.astype(np.float16),
        "vector_offsets": vector_offsets,
        **packed(weights, table, recipe.kept),
    }
    path = folder / ARRAYS
    with path.open("wb") as file:
        np.savez(file, **arrays)
    return path


def packed(weights: Floats, table: Table, kept: float) -> dict[str, NDArray[Any]]:
    """Return the weights as sparse int8 arrays, features in the order of their keys."""
    keys = np.array([feature_key(name) for name in table.names], dtype=np.uint64)
    order = np.argsort(keys)
    top = float(np.abs(weights).max())
    by_feature = weights.T[order]  # (features, classes)
    keep = np.abs(by_feature) >= kept * top
    counts = keep.sum(axis=1)
    return {
        "keys": keys[order],
        "idf": np.concatenate(table.idf)[order],
        "starts": np.r_[0, np.cumsum(counts)].astype(np.int32),
        "classes": np.nonzero(keep)[1].astype(np.uint16),
        "weights": np.round(by_feature[keep] / top * 127).astype(np.int8),
        "scale": np.array(top / 127, dtype=np.float32),
    }
