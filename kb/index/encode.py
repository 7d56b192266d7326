"""Text becomes vectors: the seam behind which any encoder fits, and the one that ships with the program.

The shipped encoder runs on onnxruntime and tokenizers alone, because importing torch would cost a first answer
five seconds. ReferenceEncoder (kb/index/reference.py) computes the same with sentence-transformers, for tests.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from kb.errors import EncoderUnusable
from kb.index.manifest import REMEDY, Manifest, proven_bytes, read_manifest

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from tokenizers import Encoding, Tokenizer

    Vectors = NDArray[np.float32]

PACKAGED = Path(__file__).parent.parent / "encoder"
"""The encoder that ships with the program."""

BATCH = 16
"""Texts in one run; 8 to 32 measured alike on two cores."""

MOST_THREADS = 4
"""The matrices are small: more threads wait for one another."""


class Encoder(Protocol):
    """Anything that turns texts into vectors whose dot product is their likeness in meaning."""

    @property
    def name(self) -> str:
        """What a person calls it."""

    @property
    def dimension(self) -> int:
        """Numbers in a vector."""

    @property
    def window(self) -> int:
        """Longest input in tokens, with the special ones; what lies beyond is not read."""

    @property
    def fingerprint(self) -> str:
        """Hash of the weights: vectors of encoders with different fingerprints must not be compared."""

    def encode(self, texts: Sequence[str]) -> Vectors:
        """Return one vector a text: float32, shape (texts, dimension), rows of length 1."""

    def count_tokens(self, text: str) -> int:
        """Return the length of the whole text in tokens, with the special ones."""

    def fits(self, text: str) -> bool:
        """Tell whether all of the text is inside the window."""

    def is_word(self, word: str) -> bool:
        """Tell whether a lower-case word is one of general English, as far as the encoder knows."""


class OnnxEncoder:
    """An exported encoder: a folder with manifest.json, model.onnx and tokenizer.json.

    Args:
        folder: where the three files are.

    Raises EncoderUnusable: at once for a bad manifest, at the first text for a missing, changed or damaged file.
    """

    def __init__(self, folder: Path = PACKAGED) -> None:
        self.folder = folder
        self.manifest: Manifest = read_manifest(folder)
        self.name = self.manifest.name
        self.dimension = self.manifest.dimension
        self.window = self.manifest.window
        self.fingerprint = self.manifest.model.sha256

    def encode(self, texts: Sequence[str]) -> Vectors:
        """Return one vector a text: float32, shape (texts, dimension), rows of length 1.

        A text longer than the window is read up to it. A text's vector does not depend on its neighbours.
        """
        import numpy as np

        vectors = np.zeros((len(texts), self.dimension), dtype=np.float32)
        for rows in alike_in_length(texts, BATCH):
            vectors[rows] = self._run([texts[row] for row in rows])
        return vectors

    def count_tokens(self, text: str) -> int:
        """Return the length of the whole text in tokens, with the special ones."""
        head = self._tokenize([text])[0]
        special = self._tokenizer.num_special_tokens_to_add(False)
        # The tokenizer cuts at the window and hands on the rest in pieces, each again with special tokens.
        return _length(head) + sum(_length(piece) - special for piece in head.overflowing)

    def fits(self, text: str) -> bool:
        """Tell whether all of the text is inside the window."""
        return self.count_tokens(text) <= self.window

    def is_word(self, word: str) -> bool:
        """Tell whether the vocabulary has the lower-case word whole; rare words it knows only in pieces."""
        return self._tokenizer.token_to_id(word) is not None

    def _run(self, texts: list[str]) -> Vectors:
        import numpy as np

        tokens = self._tokenize(texts)
        inputs = {
            "input_ids": np.array([piece.ids for piece in tokens], dtype=np.int64),
            "attention_mask": np.array([piece.attention_mask for piece in tokens], dtype=np.int64),
        }
        try:
            vectors: Vectors = self._session.run(["vector"], inputs)[0]
        except EncoderUnusable:
            raise
        except Exception as error:  # onnxruntime's errors have no common root
            raise self._unusable(self.manifest.model.name, error) from error
        if vectors.shape != (len(texts), self.dimension):
            found = f"its vectors have shape {vectors.shape} where {self.dimension} numbers each were promised"
            raise EncoderUnusable(self.folder, f"{found}; {REMEDY}.")
        return vectors

    def _tokenize(self, texts: list[str]) -> list[Encoding]:
        # Bytes of a terminal that are no UTF-8 reach Python as lone surrogates, on which the tokenizer fails.
        return self._tokenizer.encode_batch([text.encode(errors="replace").decode() for text in texts])

    @cached_property
    def _tokenizer(self) -> Tokenizer:
        home = PACKAGED if self.manifest.general_tokenizer else self.folder
        content = proven_bytes(home, self.manifest.tokenizer)
        try:
            from tokenizers import Tokenizer

            tokenizer = Tokenizer.from_buffer(content)
            tokenizer.enable_truncation(self.window)
            tokenizer.enable_padding()
        except Exception as error:  # tokenizers raises bare Exception
            raise self._unusable(self.manifest.tokenizer.name, error) from error
        return tokenizer

    @cached_property
    def _session(self) -> Any:
        content = proven_bytes(self.folder, self.manifest.model)
        try:
            from onnxruntime import InferenceSession

            return InferenceSession(content, _session_options(), providers=["CPUExecutionProvider"])
        except Exception as error:  # onnxruntime's errors have no common root
            raise self._unusable(self.manifest.model.name, error) from error

    def _unusable(self, file: str, error: Exception) -> EncoderUnusable:
        first_line = (str(error).strip().splitlines() or [type(error).__name__])[0]
        return EncoderUnusable(self.folder, f"{file} does not run here ({first_line}); {REMEDY}.")


def alike_in_length(texts: Sequence[str], size: int) -> Iterator[list[int]]:
    """Yield the row numbers of the texts, shortest text first, `size` at a time: little padding is computed in vain."""
    rows = sorted(range(len(texts)), key=lambda row: len(texts[row]))
    for start in range(0, len(rows), size):
        yield rows[start : start + size]


def _length(piece: Encoding) -> int:
    return sum(piece.attention_mask)  # padding is not part of the text


def _session_options() -> Any:
    from onnxruntime import SessionOptions

    options = SessionOptions()
    # A number of our own: left alone, onnxruntime pins threads to cores, and complains aloud where it may not.
    options.intra_op_num_threads = min(MOST_THREADS, os.cpu_count() or 1)
    options.log_severity_level = 3  # errors only: its warnings mean nothing to a coach
    # Waiting threads sleep: a page that stays open all evening must not keep the fan running.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    # Integer weights are multiplied as they are, onnxruntime's default: half the time a text of unpacking them to fp32.
    # It also rounds what flows between the layers (kb/index/quantise.py); the tests hold it to the same bounds.
    return options
