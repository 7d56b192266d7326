"""The exported encoders against the checkpoint run by sentence-transformers, and what an export writes."""

import json
import sys
from hashlib import sha256
from importlib.metadata import PackageNotFoundError
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from kb.errors import EncoderUnusable
from kb.index import export, reference
from kb.index.encode import PACKAGED, OnnxEncoder
from kb.index.manifest import read_manifest
from kb.index.quantise import to_int8
from kb.index.reference import CHECKPOINT_SHA256, ReferenceEncoder

Vectors = NDArray[np.float32]
Known = dict[str, dict[str, Vectors]]

MOST_BYTES = 25_000_000
TOP = 10


def cosines(known: Known, encoder: str, kind: str) -> Vectors:
    """Return the cosine to the checkpoint's vector, one a text."""
    found: Vectors = (known[encoder][kind] * known["reference"][kind]).sum(axis=1)
    return found


def top(vectors: dict[str, Vectors]) -> NDArray[np.intp]:
    """Return the nearest passages of every question, found by comparing all."""
    likeness = vectors["questions"] @ vectors["passages"].T
    return np.argsort(-likeness, axis=1, kind="stable")[:, :TOP]


def overlap(ours: dict[str, Vectors], theirs: dict[str, Vectors]) -> float:
    """Return the mean share of a question's nearest passages that both encoders find."""
    return float(np.mean([len(set(a) & set(b)) / TOP for a, b in zip(top(ours), top(theirs), strict=True)]))


def test_there_are_texts(questions: list[str], passages: list[str]) -> None:
    """The comparisons below compare something: 200 different questions, and more passages than a top ten."""
    assert len(set(questions)) == 200
    assert len(passages) > 5 * TOP


@pytest.mark.parametrize("kind", ["questions", "passages"])
def test_fp32_is_the_checkpoint(known: Known, kind: str) -> None:
    """Without quantisation every single vector is the checkpoint's."""
    assert cosines(known, "fp32", kind).min() >= 0.999


@pytest.mark.parametrize("kind", ["questions", "passages"])
def test_int8_is_close_to_the_checkpoint(known: Known, kind: str) -> None:
    """What ships stays near in the mean, and no text is far off."""
    found = cosines(known, "shipped", kind)
    assert found.mean() >= 0.98
    assert found.min() >= 0.95


def test_int8_finds_the_same_passages(known: Known) -> None:
    """Nine of the ten nearest passages are the same, over all questions."""
    assert overlap(known["shipped"], known["reference"]) >= 0.9


def test_measure_can_fail(known: Known) -> None:
    """Against vectors that know nothing, cosine and overlap are near chance."""
    random = np.random.default_rng(0)
    deaf = {kind: random.standard_normal(rows.shape).astype(np.float32) for kind, rows in known["reference"].items()}
    assert overlap(deaf, known["reference"]) < 0.5
    assert abs(cosines({**known, "deaf": deaf}, "deaf", "questions").mean()) < 0.5


def test_manifest_is_true(shipped: OnnxEncoder, reference: ReferenceEncoder) -> None:
    """Hashes, sizes, dimension, window, source and licences are what they are."""
    manifest = read_manifest(PACKAGED)
    for entry in (manifest.model, manifest.tokenizer):
        content = (PACKAGED / entry.name).read_bytes()
        assert (sha256(content).hexdigest(), len(content)) == (entry.sha256, entry.bytes)
    assert manifest.model.bytes <= MOST_BYTES
    assert (manifest.dimension, manifest.window) == (reference.dimension, reference.window) == (384, 256)
    assert manifest.source.sha256 == CHECKPOINT_SHA256 == reference.fingerprint
    assert (manifest.source.weights_licence, manifest.source.package_licence) == ("apache-2.0", "MIT")
    assert shipped.fingerprint == manifest.model.sha256


def test_export_writes_the_shipped_files(tmp_path: Path) -> None:
    """The script's work can be repeated: the same names, and vectors equal to those of the files that ship."""
    export.export_packaged(tmp_path / "new" / "encoder")
    made = tmp_path / "new" / "encoder"
    assert {file.name for file in made.iterdir()} == {file.name for file in PACKAGED.iterdir()}
    texts = ["cast to handstand", "she pikes on the way down"]
    np.testing.assert_allclose(OnnxEncoder(made).encode(texts), OnnxEncoder().encode(texts), atol=1e-5)


def test_fp32_script(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The script's --fp32 writes an unquantised encoder elsewhere and says what it is."""
    assert export.main(["--fp32", str(tmp_path)]) == 0
    assert capsys.readouterr().out == "all-MiniLM-L6-v2 (fp32): 90.4 MB, 384 dimensions, 256 tokens\n"
    assert read_manifest(tmp_path).quantisation == "none (fp32)"


def test_no_path_of_the_maker_is_in_the_files() -> None:
    """What ships says nothing about the machine it was made on."""
    for file in PACKAGED.iterdir():
        assert str(Path(export.__file__).parent.parent).encode() not in file.read_bytes()


def test_export_far_from_the_checkpoint_is_thrown_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A quantisation that goes wrong leaves the folder as it was."""
    monkeypatch.setattr(export, "LEAST_COSINE", 1.1)  # more than any export can reach
    with pytest.raises(EncoderUnusable, match="nothing was written"):
        export.export_packaged(tmp_path / "encoder")
    assert not (tmp_path / "encoder").exists()


def test_other_checkpoint_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Weights with another hash are not exported; the script says so in one line and fails."""
    monkeypatch.setattr(reference, "CHECKPOINT_SHA256", "0" * 64)
    assert export.main(["--fp32", str(tmp_path)]) == 3
    assert capsys.readouterr().err.count("\n") == 1


def test_missing_package_names_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the checkpoint's package the error says which install brings it."""

    def nothing(name: str) -> None:
        raise PackageNotFoundError(name)

    monkeypatch.setattr(reference, "distribution", nothing)
    with pytest.raises(EncoderUnusable, match=r"drillkb\[models\]"):
        ReferenceEncoder()


def test_missing_library_names_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without sentence-transformers the error says which install brings it."""
    monkeypatch.setitem(sys.modules, "sentence_transformers", None)
    with pytest.raises(EncoderUnusable, match=r"drillkb\[models\]"):
        ReferenceEncoder()


def test_folder_without_checkpoint_is_refused(tmp_path: Path) -> None:
    """A folder that sentence-transformers cannot load gives our error."""
    with pytest.raises(EncoderUnusable, match="cannot load it"):
        ReferenceEncoder(tmp_path)


@pytest.mark.parametrize("axis", [0, 1])
def test_rounding_is_off_by_half_a_step_at_most(axis: int) -> None:
    """Int8 times scale is the matrix within half a scale, zero slices included, and the largest number is 127."""
    matrix = np.random.default_rng(7).standard_normal((40, 30)).astype(np.float32)
    matrix[3, :] = matrix[:, 3] = 0
    rounded, scales = to_int8(matrix, axis)
    assert rounded.dtype == np.int8
    assert np.abs(rounded).max() == 127
    assert (np.abs(rounded * scales - matrix) <= scales / 2 + 1e-7).all()
    assert scales.size == matrix.shape[1 - axis]


def test_tokenizer_file_neither_cuts_nor_pads() -> None:
    """The checkpoint's own file cuts at 128 tokens; in ours the window of the manifest is the only limit."""
    tokenizer = json.loads((PACKAGED / "tokenizer.json").read_text("utf-8"))
    assert (tokenizer["truncation"], tokenizer["padding"]) == (None, None)
