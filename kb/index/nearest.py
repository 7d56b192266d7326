"""Nearest neighbours among unit vectors: FAISS, and an exact reference with the same two methods."""

from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from kb.errors import IndexUnusable

Vectors = NDArray[np.float32]


class VectorIndex(Protocol):
    """Finds the stored rows whose cosine with a question is largest."""

    def __len__(self) -> int:
        """Number of stored rows."""
        ...

    def nearest(self, question: Vectors, count: int) -> tuple[NDArray[np.int64], Vectors]:
        """Return row numbers and cosines, best first, for one unit vector of shape (dimension,)."""
        ...


class ExactIndex:
    """The reference: one matrix product in numpy."""

    def __init__(self, rows: Vectors) -> None:
        self.rows = rows

    def __len__(self) -> int:
        return len(self.rows)

    def nearest(self, question: Vectors, count: int) -> tuple[NDArray[np.int64], Vectors]:
        """Return row numbers and cosines, best first."""
        cosines = self.rows @ question
        best = np.argsort(-cosines, kind="stable")[:count]
        return best, cosines[best]


class FaissIndex:
    """A flat FAISS index; exact as well, and the seam for other kinds when a library grows past 100,000 rows."""

    def __init__(self, index: Any) -> None:
        self.index = index

    @classmethod
    def build(cls, rows: Vectors) -> "FaissIndex":
        """Index unit vectors of shape (rows, dimension)."""
        index = _faiss().IndexFlatIP(rows.shape[1])
        index.add(np.ascontiguousarray(rows))
        return cls(index)

    @classmethod
    def from_bytes(cls, blob: bytes) -> "FaissIndex":
        """Read what `to_bytes` wrote."""
        try:
            return cls(_faiss().deserialize_index(np.frombuffer(blob, dtype=np.uint8)))
        except RuntimeError as error:
            raise IndexUnusable("library.faiss", f"FAISS does not read it ({str(error)[:80]}).") from None

    def to_bytes(self) -> bytes:
        """Return the index as bytes."""
        return bytes(_faiss().serialize_index(self.index).tobytes())

    def __len__(self) -> int:
        return int(self.index.ntotal)

    def nearest(self, question: Vectors, count: int) -> tuple[NDArray[np.int64], Vectors]:
        """Return row numbers and cosines, best first."""
        cosines, rows = self.index.search(question[None, :], min(count, len(self)))
        return rows[0], cosines[0]


def _faiss() -> Any:
    import faiss

    faiss.omp_set_num_threads(1)  # a second thread slows single questions down
    return faiss
