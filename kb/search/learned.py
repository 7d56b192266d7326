"""What was learned from the ways faults are said: two linear classifiers, run with numpy alone.

One sees words, pairs of words and runs of letters, the other the encoder's vector. scripts/train-encoder fits them
(kb/train/linear.py) and writes them as arrays beside the trained encoder, in the library's folder `trained`.
"""

import hashlib
import re
from collections import Counter
from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from kb.errors import EncoderUnusable
from kb.index.words import plain
from kb.library.files import TRAINED

ARRAYS = "words.npz"
FORMAT = 1
GRAMS = (2, 3, 4, 5)
"""Letters in a run, with the borders of the word."""

Floats = NDArray[np.float32]


def word_features(text: str) -> list[str]:
    """Return the words and the pairs of neighbouring words."""
    words = re.findall(r"[^\W_]+", plain(text))
    return [f"w {word}" for word in words] + [f"w {one} {two}" for one, two in pairwise(words)]


def letter_features(text: str) -> list[str]:
    """Return the runs of two to five letters inside each word, with its borders."""
    found: list[str] = []
    for word in re.findall(r"[^\W_]+", plain(text)):
        edged = f" {word} "
        found += [f"c{edged[at : at + size]}" for size in GRAMS for at in range(len(edged) - size + 1)]
    return found


FAMILIES = (word_features, letter_features)
"""Each family of features is scaled to length 1 by itself."""


def feature_key(feature: str) -> int:
    """Return the 64-bit number under which a feature is kept."""
    return int.from_bytes(hashlib.blake2b(feature.encode(), digest_size=8).digest(), "little")


class Learned:
    """The classifiers of a library, read once.

    Args:
        folder: where words.npz is.

        encoder: fingerprint of the encoder in use; vectors of another one than was learned from are not judged.

    Raises EncoderUnusable when the file is damaged or of another format.
    """

    def __init__(self, folder: Path, encoder: str) -> None:
        path = folder / ARRAYS
        try:
            with np.load(path, allow_pickle=False) as file:
                arrays = {name: file[name] for name in file.files}
            if int(arrays["format"]) != FORMAT:
                raise EncoderUnusable(path, f"it has format {int(arrays['format'])} and this program reads {FORMAT}.")
            self.faults = [str(name) for name in arrays["faults"]]
            self.keys, self.idf = arrays["keys"], arrays["idf"]
            self.starts, self.classes = arrays["starts"], arrays["classes"]
            self.weights, self.scale = arrays["weights"], float(arrays["scale"])
            self.offsets = arrays["offsets"]
            self.reads_vectors = str(arrays["encoder"]) == encoder
            self.of_vector, self.vector_offsets = arrays["of_vector"].astype(np.float32), arrays["vector_offsets"]
        except (OSError, ValueError, KeyError, EOFError, BadZipFile) as error:
            text = f"cannot be read ({error}); run ./scripts/train-encoder again or remove the folder '{TRAINED}'."
            raise EncoderUnusable(path, text) from None

    def by_words(self, text: str) -> Floats:
        """Return the logarithm of each fault's probability by its words; shape (faults,)."""
        total = self.offsets.copy()
        for family in FAMILIES:
            rows, values = self._family(family(text))
            counts = self.starts[rows + 1] - self.starts[rows]
            ends = np.cumsum(counts)
            # The places of all weights of all rows: each row's start, counted on.
            places = np.arange(ends[-1] if len(ends) else 0) + np.repeat(self.starts[rows] - ends + counts, counts)
            shares = np.repeat(values * self.scale, counts) * self.weights[places]
            total += np.bincount(self.classes[places], weights=shares, minlength=len(total)).astype(np.float32)
        return log_share(total)

    def by_vector(self, vector: Floats) -> Floats:
        """Return the logarithm of each fault's probability by the meaning of the words; shape (faults,)."""
        return log_share(self.of_vector @ vector + self.vector_offsets)

    def _family(self, features: Iterable[str]) -> tuple[NDArray[np.int64], Floats]:
        """Return rows and values of the features that were learned: (1 + log count) x idf, scaled to length 1."""
        counts = Counter(features)
        keys = np.array([feature_key(feature) for feature in counts], dtype=np.uint64)
        if not len(keys):
            return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.float32)
        places = np.minimum(np.searchsorted(self.keys, keys), len(self.keys) - 1)
        known = self.keys[places] == keys
        rows = places[known]
        often = np.array(list(counts.values()), dtype=np.float32)[known]
        values = (1 + np.log(often)) * self.idf[rows]
        length = float(np.sqrt((values**2).sum()))
        return rows, values / length if length else values


def log_share(scores: Floats) -> Floats:
    """Return log(exp(score) / sum of them all)."""
    shifted = scores - scores.max()
    return np.asarray(shifted - np.log(np.exp(shifted).sum()), dtype=np.float32)
