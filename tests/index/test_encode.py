"""Encoders: the same promises hold for the shipped one, a fresh fp32 export and sentence-transformers."""

import json
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest

from kb.errors import EncoderUnusable
from kb.index.encode import Encoder, OnnxEncoder, alike_in_length
from kb.index.reference import ReferenceEncoder

SHORT = "bent arms in the cast"
LONG = "stand tall and push the floor away " * 100
TEXTS = [SHORT, "", "she lands short", LONG, "Überschlag mit Brücke", "側空翻", "🤸 kip", "don't—stop (ever)", SHORT]
CUT = "kip \udce9t\udce9"
"""What a terminal in another encoding makes of two accents."""


@pytest.fixture(params=["shipped", "fp32", "reference"])
def encoder(request: pytest.FixtureRequest) -> Encoder:
    """Return each encoder in turn."""
    found: Encoder = request.getfixturevalue(request.param)
    return found


def test_rows_have_length_one(encoder: Encoder) -> None:
    """Every text, also an empty one, gives one float32 row of length 1."""
    rows = encoder.encode(TEXTS)
    assert rows.dtype == np.float32
    assert rows.shape == (len(TEXTS), encoder.dimension)
    assert np.linalg.norm(rows, axis=1) == pytest.approx(np.ones(len(TEXTS)), abs=1e-5)


def test_neighbours_do_not_matter(encoder: Encoder) -> None:
    """A text has the same vector alone, in a batch and in another order."""
    together = encoder.encode(TEXTS)
    alone = np.vstack([encoder.encode([text]) for text in TEXTS])
    backwards = encoder.encode(TEXTS[::-1])[::-1]
    np.testing.assert_allclose(together, alone, atol=1e-5)
    np.testing.assert_allclose(together, backwards, atol=1e-5)


def test_no_texts_no_rows(encoder: Encoder) -> None:
    """An empty list gives an empty table of the right width."""
    rows = encoder.encode([])
    assert rows.shape == (0, encoder.dimension)
    assert rows.dtype == np.float32


def test_long_text_is_read_up_to_the_window(encoder: Encoder) -> None:
    """A text beyond the window raises nothing, is told by its tokens, and its end changes nothing."""
    assert encoder.window == 256
    assert encoder.count_tokens(LONG) == 7 * 100 + 2  # seven words of one token each, and the two special ones
    assert not encoder.fits(LONG)
    np.testing.assert_allclose(encoder.encode([LONG]), encoder.encode([LONG + "and bake a cake"]), atol=1e-5)


@pytest.mark.parametrize(("words", "fits"), [(253, True), (254, True), (255, False), (508, False), (509, False)])
def test_window_ends_where_it_says(encoder: Encoder, words: int, fits: bool) -> None:
    """A text of one-token words fits with 254 of them, since two places are taken, and is counted right beyond."""
    text = "kick " * words
    assert encoder.count_tokens(text) == words + 2
    assert encoder.fits(text) is fits


def test_last_word_inside_the_window_counts(encoder: Encoder) -> None:
    """The 254th word is read, the 255th is not."""
    full, last_differs = "kick " * 254, "kick " * 253 + "beam"
    np.testing.assert_allclose(encoder.encode([full]), encoder.encode([full + "beam"]), atol=1e-5)
    assert not np.allclose(encoder.encode([full]), encoder.encode([last_differs]), atol=1e-4)


def test_tokens_are_counted_as_the_reference_does(shipped: OnnxEncoder, reference: ReferenceEncoder) -> None:
    """Accents, other scripts and signs are cut alike."""
    for text in TEXTS:
        assert shipped.count_tokens(text) == reference.count_tokens(text)


def test_broken_characters_are_read(shipped: OnnxEncoder) -> None:
    """Bytes that are no text cost their place, not the answer."""
    assert shipped.encode([CUT]).shape == (1, shipped.dimension)
    assert shipped.count_tokens(CUT) > 2


def test_likeness_follows_meaning(encoder: Encoder) -> None:
    """A question lies nearer to its paraphrase than to another fault."""
    ask, same, other = encoder.encode(["her elbows are soft in the cast", SHORT, "what is for dinner tonight"])
    assert ask @ same > ask @ other + 0.2


def test_fingerprints_tell_encoders_apart(shipped: OnnxEncoder, fp32: OnnxEncoder, reference: ReferenceEncoder) -> None:
    """Vectors of different weights never pass for one another's."""
    assert len({shipped.fingerprint, fp32.fingerprint, reference.fingerprint}) == 3


def test_batches_hold_texts_of_like_length() -> None:
    """Rows come shortest text first and every row once."""
    assert list(alike_in_length(["aaa", "a", "aaaa", "aa"], 3)) == [[1, 3, 0], [2]]


def spoil(folder: Path, file: str, content: bytes) -> None:
    """Replace a file and its hash in the manifest, so that only its content is wrong."""
    (folder / file).write_bytes(content)
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    manifest[file.split(".", maxsplit=1)[0]]["sha256"] = sha256(content).hexdigest()
    (folder / "manifest.json").write_text(json.dumps(manifest), "utf-8")


@pytest.mark.parametrize("file", ["manifest.json", "model.onnx", "tokenizer.json"])
def test_missing_file_is_named(damaged: Path, file: str) -> None:
    """The error names the file and what to do."""
    (damaged / file).unlink()
    with pytest.raises(EncoderUnusable, match=rf"{file} is missing; install drillkb again"):
        OnnxEncoder(damaged).encode([SHORT])


@pytest.mark.parametrize("file", ["model.onnx", "tokenizer.json"])
def test_changed_file_is_refused(damaged: Path, file: str) -> None:
    """A file with another hash than the manifest's is not run."""
    with (damaged / file).open("ab") as stream:
        stream.write(b" ")
    with pytest.raises(EncoderUnusable, match=f"{file} is not the file that manifest.json describes"):
        OnnxEncoder(damaged).encode([SHORT])


@pytest.mark.parametrize("file", ["model.onnx", "tokenizer.json"])
def test_foreign_errors_are_translated(damaged: Path, file: str) -> None:
    """Nonsense that the manifest vouches for gives our error, not the library's."""
    spoil(damaged, file, b"no model at all")
    with pytest.raises(EncoderUnusable, match=f"{file} does not run here"):
        OnnxEncoder(damaged).encode([SHORT])


def test_wrong_hash_in_the_manifest_is_refused(damaged: Path) -> None:
    """A manifest of another model is not believed."""
    manifest = json.loads((damaged / "manifest.json").read_text("utf-8"))
    manifest["model"]["sha256"] = "0" * 64
    (damaged / "manifest.json").write_text(json.dumps(manifest), "utf-8")
    with pytest.raises(EncoderUnusable, match=r"model\.onnx is not the file"):
        OnnxEncoder(damaged).encode([SHORT])


def test_wrong_dimension_is_refused(damaged: Path) -> None:
    """Vectors of another width than promised never reach an index."""
    manifest = json.loads((damaged / "manifest.json").read_text("utf-8"))
    (damaged / "manifest.json").write_text(json.dumps(manifest | {"dimension": 100}), "utf-8")
    with pytest.raises(EncoderUnusable, match="100 numbers each were promised"):
        OnnxEncoder(damaged).encode([SHORT])


@pytest.mark.parametrize("content", [b"", b"{}", b"not json", b"\xff\xfe", b'{"format": "1"}'])
def test_damaged_manifest_is_refused_at_once(damaged: Path, content: bytes) -> None:
    """A manifest that cannot be read is an error before any text is given."""
    (damaged / "manifest.json").write_bytes(content)
    with pytest.raises(EncoderUnusable, match=r"manifest\.json cannot be read"):
        OnnxEncoder(damaged)


def test_manifest_of_another_format_is_refused(damaged: Path) -> None:
    """A folder from a newer program is told as such."""
    manifest = json.loads((damaged / "manifest.json").read_text("utf-8"))
    (damaged / "manifest.json").write_text(json.dumps(manifest | {"format": 99}), "utf-8")
    with pytest.raises(EncoderUnusable, match="has format 99"):
        OnnxEncoder(damaged)


def test_import_is_cheap() -> None:
    """Importing the module, and opening the encoder, loads nothing heavy."""
    code = (
        "import sys; from kb.index.encode import OnnxEncoder; OnnxEncoder();"
        "print([m for m in ('numpy', 'onnxruntime', 'tokenizers', 'torch') if m in sys.modules])"
    )
    printed = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert printed.strip() == "[]"


def test_question_never_loads_torch() -> None:
    """A first vector needs onnxruntime and tokenizers alone, and prints nothing."""
    code = (
        "import sys; from kb.index.encode import OnnxEncoder; OnnxEncoder().encode(['kip']);"
        "print([m for m in ('torch', 'transformers', 'onnx', 'sentence_transformers') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout.strip(), done.stderr) == ("[]", "")
