"""Linear classifiers: over words and runs of letters, and over the encoder's vectors. scikit-learn fits them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Matrix = NDArray[np.float32]
STRENGTH = 10.0
"""Inverse regularisation of the classifier over vectors (scikit-learn's C)."""
WORD_STRENGTH = 10.0
"""The same for words and letters."""
MISTYPED = 0.0


def fit_vectors(vectors: Matrix, labels: Sequence[int], classes: int) -> tuple[Matrix, Matrix]:
    """Fit a multinomial logistic regression; return weights (classes, dimension) and offsets (classes)."""
    from sklearn.linear_model import LogisticRegression

    model = LogisticRegression(C=STRENGTH, max_iter=300)
    model.fit(vectors, labels)
    return _spread(model, classes)


def _spread(model: Any, classes: int) -> tuple[Matrix, Matrix]:
    """Return the coefficients with a row for every class, also those that nothing was learned of."""
    weights = np.zeros((classes, model.coef_.shape[1]), dtype=np.float32)
    offsets = np.full(classes, -30.0, dtype=np.float32)
    weights[model.classes_], offsets[model.classes_] = model.coef_, model.intercept_
    return weights, offsets
