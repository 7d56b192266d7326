"""Encoders and texts that the tests of this folder share; each is made once a run."""

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from kb.index.encode import PACKAGED, Encoder, OnnxEncoder
from kb.index.export import export_packaged
from kb.index.passages import card_passages
from kb.index.reference import ReferenceEncoder
from kb.library import load_collection
from kb.library.files import starter_library

QUESTIONS = Path(__file__).parent.parent / "fixtures" / "short_questions.txt"


@pytest.fixture(scope="session")
def shipped() -> OnnxEncoder:
    """Return the encoder that ships."""
    return OnnxEncoder(PACKAGED)


@pytest.fixture(scope="session")
def fp32_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of an unquantised encoder, exported just now."""
    folder = tmp_path_factory.mktemp("encoder") / "fp32"
    export_packaged(folder, int8=False)
    return folder


@pytest.fixture(scope="session")
def fp32(fp32_folder: Path) -> OnnxEncoder:
    """Return the unquantised encoder."""
    return OnnxEncoder(fp32_folder)


@pytest.fixture(scope="session")
def reference() -> ReferenceEncoder:
    """Return the checkpoint run by sentence-transformers; fails, and does not skip, without the extra `models`."""
    return ReferenceEncoder()


@pytest.fixture(scope="session")
def questions() -> list[str]:
    """Return 200 short questions, most of them a coach's, some of them anybody's."""
    return QUESTIONS.read_text("utf-8").splitlines()


@pytest.fixture(scope="session")
def passages(shipped: OnnxEncoder) -> list[str]:
    """Return every passage of the starter library, cut as the index cuts it."""
    cards = load_collection(starter_library()).cards.values()
    return [passage.text for card in cards for passage in card_passages(card, shipped.fits)]


@pytest.fixture(scope="session")
def known(
    shipped: OnnxEncoder, fp32: OnnxEncoder, reference: ReferenceEncoder, questions: list[str], passages: list[str]
) -> dict[str, dict[str, NDArray[np.float32]]]:
    """Return the vectors of all questions and passages: known["shipped"]["passages"]."""
    encoders: dict[str, Encoder] = {"shipped": shipped, "fp32": fp32, "reference": reference}
    texts = {"questions": questions, "passages": passages}
    return {name: {kind: encoder.encode(texts[kind]) for kind in texts} for name, encoder in encoders.items()}


@pytest.fixture
def damaged(tmp_path: Path) -> Path:
    """Return a copy of the shipped encoder that a test may spoil."""
    folder = tmp_path / "encoder"
    folder.mkdir()
    for file in PACKAGED.iterdir():
        (folder / file.name).write_bytes(file.read_bytes())
    return folder
