"""The classifiers: the same numbers as scikit-learn's own, and what is written runs with numpy alone."""

from pathlib import Path

import numpy as np
import pytest
from sklearn.feature_extraction.text import TfidfVectorizer
from sklearn.linear_model import LogisticRegression

from kb.errors import EncoderUnusable
from kb.search.learned import Learned, letter_features, word_features
from kb.train.linear import Lesson, LinearRecipe, Table, fit, write_classifiers

SAID = {
    "folds": ["she folds on the way down", "bends in the middle before she lands", "shuts like a book", "folds early"],
    "slow": ["runs too slow at the vault", "no speed in the run", "jogs to the board", "she is slow, slow, slow"],
    "arms": ["elbows bend in the handstand", "soft arms", "her arms give way", "bent arms on the table"],
}
FAULTS = tuple(SAID)
TEXTS = tuple(text for texts in SAID.values() for text in texts)
LABELS = tuple(place for place, texts in enumerate(SAID.values()) for _ in texts)
RNG = np.random.default_rng(3)
VECTORS = RNG.normal(size=(len(TEXTS), 8)).astype(np.float32) + np.eye(3, 8, dtype=np.float32)[list(LABELS)] * 4
WORD = r"[^\W_]+"
ASKED = ("folds in the middle", "she runs slowly", "bent elbows", "Çafé elböws", "quite another thing", "")


@pytest.mark.parametrize("family", [word_features, letter_features])
@pytest.mark.parametrize("least", [1, 2])
def test_tf_idf_is_scikit_learns(family: object, least: int) -> None:
    """Both families of features have the values of TfidfVectorizer with the same features."""
    table = Table(TEXTS, least)
    number = [word_features, letter_features].index(family)  # type: ignore[arg-type]
    oracle = TfidfVectorizer(
        analyzer=family, sublinear_tf=True, min_df=least if number else 1, norm="l2", dtype=np.float64
    ).fit(TEXTS)
    ours = table._family(ASKED, family, table.places[number], table.idf[number])  # type: ignore[arg-type]
    theirs = oracle.transform(ASKED)
    assert list(table.places[number]) == list(oracle.get_feature_names_out())
    assert np.abs(ours.toarray() - theirs.toarray()).max() < 1e-5


def test_features_as_scikit_learn_cuts_them() -> None:
    """Words in ones and twos and runs of letters inside words, as its own analysers cut them."""
    text = "She folds, folds early!"
    words = TfidfVectorizer(ngram_range=(1, 2), token_pattern=WORD).build_analyzer()(text)
    letters = TfidfVectorizer(analyzer="char_wb", ngram_range=(2, 5)).build_analyzer()("she folds folds early")
    assert sorted(feature[2:] for feature in word_features(text)) == sorted(words)
    assert {feature[1:] for feature in letter_features(text)} == set(letters)


def written(folder: Path, kept: float = 0.0) -> Learned:
    """Fit, write and read back."""
    lesson = Lesson(FAULTS, TEXTS, LABELS, VECTORS, "abc")
    write_classifiers(folder, lesson, LinearRecipe(least=1, kept=kept))
    return Learned(folder, "abc")


def test_what_runs_gives_scikit_learns_probabilities(tmp_path: Path) -> None:
    """Up to the rounding of int8 the log-probabilities are those of predict_log_proba."""
    learned = written(tmp_path)
    table = Table(TEXTS, 1)
    oracle = LogisticRegression(C=LinearRecipe().word_strength, max_iter=LinearRecipe().rounds)
    oracle.fit(table.rows(TEXTS), LABELS)
    theirs = oracle.predict_log_proba(table.rows(ASKED))
    ours = np.array([learned.by_words(text) for text in ASKED])
    assert np.abs(ours - theirs).max() < 0.05
    assert (ours.argmax(axis=1) == theirs.argmax(axis=1)).all()


def test_vectors_too(tmp_path: Path) -> None:
    """The classifier over vectors is scikit-learn's, up to 16-bit weights."""
    learned = written(tmp_path)
    recipe = LinearRecipe()
    oracle = LogisticRegression(C=recipe.vector_strength, max_iter=4 * recipe.rounds).fit(VECTORS, LABELS)
    ours = np.array([learned.by_vector(vector) for vector in VECTORS])
    assert np.abs(ours - oracle.predict_log_proba(VECTORS)).max() < 0.05


def test_it_learns(tmp_path: Path) -> None:
    """Words like those it learned from lead to their fault, mistyped ones too."""
    learned = written(tmp_path)
    for text, fault in {"folds at the waist": "folds", "no speed": "slow", "elbws bnd": "arms"}.items():
        assert learned.faults[int(learned.by_words(text).argmax())] == fault


def test_small_weights_are_dropped(tmp_path: Path) -> None:
    """A higher threshold keeps fewer weights, and the answers stay."""
    (tmp_path / "all").mkdir()
    (tmp_path / "few").mkdir()
    all_of_them, few = written(tmp_path / "all"), written(tmp_path / "few", kept=0.1)
    assert len(few.weights) < 0.8 * len(all_of_them.weights)
    assert [few.by_words(t).argmax() for t in TEXTS] == [all_of_them.by_words(t).argmax() for t in TEXTS]


def test_a_fault_without_a_word_is_never_chosen() -> None:
    """Classes that nothing was learned of stay far below the others."""
    weights, offsets = fit(Table(TEXTS, 1).rows(TEXTS), LABELS, 5, 10.0, 50)
    assert weights.shape[0] == 5
    assert (offsets[3:] < offsets[:3].min() - 10).all()


def test_vectors_of_another_encoder_are_not_judged(tmp_path: Path) -> None:
    """The classifier over vectors belongs to one encoder."""
    written(tmp_path)
    assert Learned(tmp_path, "abc").reads_vectors
    assert not Learned(tmp_path, "other").reads_vectors


@pytest.mark.parametrize("content", [b"", b"no zip", b"PK\x03\x04 broken"])
def test_a_damaged_file_says_what_to_do(content: bytes, tmp_path: Path) -> None:
    """Missing, empty or broken: one sentence with the remedy."""
    (tmp_path / "words.npz").write_bytes(content)
    with pytest.raises(EncoderUnusable, match="train-encoder"):
        Learned(tmp_path, "abc")


def test_a_missing_file_says_what_to_do(tmp_path: Path) -> None:
    """Nothing there."""
    with pytest.raises(EncoderUnusable, match="train-encoder"):
        Learned(tmp_path, "abc")
